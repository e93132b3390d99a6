/** What the console's pages of the register may ask: runs and kits, compare, accept, criteria. */
import { acceptPage, acceptSent } from './registerAcceptPage.ts';
import { comparePage } from './registerComparePage.ts';
import { criteriaPage, criteriaSent } from './registerCriteriaPage.ts';
import { formScript, REGISTER_PATH, sentFields } from './registerFrame.ts';
import { HAND_PATH, handPage } from './registerHandPage.ts';
import { HERE_PATH, herePage, type KitHereOf } from './registerHerePage.ts';
import { JUDGE_PATH, type JudgeAgain, judgePage, judgeSent } from './registerJudgePage.ts';
import {
	KIT_PATH,
	kitPage,
	kitSent,
	PLACE_PATH,
	placeSent,
	REFERENCE_PATH,
	referenceSent,
} from './registerKitPage.ts';
import { enterRun, listPage, MERGE_PATH, mergeSent } from './registerListPage.ts';
import { keepPackFile, PACK_FILE_PATH, PACK_PATH, packPage, packSent } from './registerPackPage.ts';
import { sheetPage, sheetSent } from './registerSheetPage.ts';
import type { Route } from './route.ts';

export function registerRoutes({
	root,
	toolVersion,
	judgeAgain,
	kitHere,
}: {
	readonly root: string;
	readonly toolVersion: string;
	readonly judgeAgain: JudgeAgain;
	readonly kitHere: KitHereOf;
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
		{ method: 'GET', path: KIT_PATH, answer: ({ query }) => kitPage(root, query.get('kit')?.trim() ?? '') },
		{ method: 'POST', path: KIT_PATH, answer: ({ body }) => kitSent(root, sentFields(body)) },
		{ method: 'POST', path: REFERENCE_PATH, answer: ({ body }) => referenceSent(root, sentFields(body)) },
		{ method: 'POST', path: PLACE_PATH, answer: ({ body }) => placeSent(root, sentFields(body)) },
		{
			method: 'GET',
			path: JUDGE_PATH,
			heavy: true,
			answer: ({ query }) => judgePage({ root, judgeAgain }, query),
		},
		{
			method: 'POST',
			path: JUDGE_PATH,
			heavy: true,
			answer: ({ body }) => judgeSent({ root, judgeAgain }, sentFields(body)),
		},
		{
			method: 'GET',
			path: HERE_PATH,
			heavy: true,
			answer: ({ query }) => herePage({ root, kitHere }, query),
		},
		{ method: 'GET', path: HAND_PATH, answer: ({ query }) => handPage(root, query) },
		{
			method: 'POST',
			path: MERGE_PATH,
			heavy: true,
			answer: ({ body }) => mergeSent(root, sentFields(body)),
		},
		{ method: 'GET', path: PACK_PATH, answer: () => packPage(root) },
		{
			method: 'POST',
			path: PACK_PATH,
			heavy: true,
			answer: ({ body }) => packSent({ root, fields: sentFields(body), toolVersion }),
		},
		{
			method: 'PUT',
			path: PACK_FILE_PATH,
			heavy: true,
			keep: ({ query, bytes }) => keepPackFile(root, { name: query.get('name') ?? '', bytes }),
		},
		{ method: 'GET', path: `${REGISTER_PATH}/sheet`, answer: () => sheetPage(root) },
		{
			method: 'POST',
			path: `${REGISTER_PATH}/sheet`,
			answer: ({ body }) => sheetSent(root, sentFields(body)),
		},
	];
}
