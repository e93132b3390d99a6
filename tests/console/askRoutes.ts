/** The console's register pages asked without a server; judging is the command's own. */

import { renderReport, writeConclusion } from '../../src/cli/conclude.ts';
import { judgeAgain } from '../../src/cli/judgeAgain.ts';
import { kitHereOf } from '../../src/cli/kitHere.ts';
import { registerRoutes } from '../../src/console/registerRoutes.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';

export function routesOf(root: string) {
	return registerRoutes({
		...{ root, toolVersion: '0' },
		kitHere: (folders) => kitHereOf(folders, standardCriteria),
		judgeAgain: async (folder, by) => {
			const judged = await judgeAgain(folder, by);
			return {
				...judged,
				report: () => renderReport(folder, judged),
				write: () => writeConclusion(folder, judged),
			};
		},
	});
}

/** A page, or with a body what comes of that form. */
export async function ask(root: string, path: string, body?: Record<string, string>): Promise<string> {
	const [name, query = ''] = path.split('?');
	const method = body === undefined ? 'GET' : 'POST';
	for (const route of routesOf(root))
		if (route.method !== 'PUT' && route.method === method && route.path === name)
			return String((await route.answer({ query: new URLSearchParams(query), body })).body);
	throw new RangeError(`no route ${method} ${path}`);
}

/** Sends one file as the forms' script does; gives the name under which it is kept. */
export async function send(
	root: string,
	{ name, bytes }: { name: string; bytes: Uint8Array },
): Promise<string> {
	for (const route of routesOf(root))
		if (route.method === 'PUT') {
			const pieces = (async function* () {
				yield bytes;
			})();
			const { body } = await route.keep({ query: new URLSearchParams({ name }), bytes: pieces });
			return JSON.parse(String(body)).kept;
		}
	throw new RangeError('no route takes a file');
}
