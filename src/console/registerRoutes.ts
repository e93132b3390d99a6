/** What the console's pages of the register may ask: runs and kits, compare, accept, criteria. */
import { acceptPage, acceptSent } from './registerAcceptPage.ts';
import { comparePage } from './registerComparePage.ts';
import { criteriaPage, criteriaSent } from './registerCriteriaPage.ts';
import { formScript, REGISTER_PATH, sentFields } from './registerFrame.ts';
import { enterRun, listPage } from './registerListPage.ts';
import { sheetPage, sheetSent } from './registerSheetPage.ts';
import type { Route } from './route.ts';

export function registerRoutes({
	root,
	toolVersion,
}: {
	readonly root: string;
	readonly toolVersion: string;
}): readonly Route[] {
	return [
		{
			method: 'GET',
			path: formScript.path,
			answer: async () => ({ status: 200, type: 'text/javascript; charset=utf-8', body: formScript.text }),
		},
		{ method: 'GET', path: REGISTER_PATH, answer: ({ query }) => listPage(root, query) },
		{
			method: 'POST',
			path: `${REGISTER_PATH}/enter`,
			answer: ({ body }) => enterRun(root, sentFields(body)),
		},
		{
			method: 'GET',
			path: `${REGISTER_PATH}/compare`,
			answer: ({ query }) => comparePage({ root, query, toolVersion }),
		},
		{
			method: 'GET',
			path: `${REGISTER_PATH}/accept`,
			answer: ({ query }) => acceptPage(root, query.get('kit') ?? ''),
		},
		{
			method: 'POST',
			path: `${REGISTER_PATH}/accept`,
			answer: ({ body }) => acceptSent({ root, fields: sentFields(body), toolVersion }),
		},
		{
			method: 'GET',
			path: `${REGISTER_PATH}/criteria`,
			answer: async ({ query }) => criteriaPage(query.get('from') ?? ''),
		},
		{
			method: 'POST',
			path: `${REGISTER_PATH}/criteria`,
			answer: ({ body }) => criteriaSent(root, sentFields(body)),
		},
		{ method: 'GET', path: `${REGISTER_PATH}/sheet`, answer: () => sheetPage(root) },
		{
			method: 'POST',
			path: `${REGISTER_PATH}/sheet`,
			answer: ({ body }) => sheetSent(root, sentFields(body)),
		},
	];
}
