/** `card --serve`: the card page on this computer alone, until Ctrl-C. No bench, no tablet and no network is needed for it. */
import { stat } from 'node:fs/promises';
import { createServer } from 'node:http';
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import { servePages } from '../rigs/link/pageFiles.ts';
import { listen } from '../transports/listen.ts';

/** `pages`: the folder of built pages. Gives the address and a way to end it. Throws `OutsideFailure` `pagesMissing`, `portInUse`, `portRefused`. */
export async function serveCard(
	port: number,
	pages: string,
): Promise<{ readonly url: string; close(): void }> {
	const built = await stat(join(pages, 'card/index.html')).catch(() => null);
	if (built === null)
		throw new OutsideFailure(
			'pagesMissing',
			'The card page is not built.',
			'Run `npm run build` once, then call this again.',
		);
	const server = createServer(servePages(pages));
	const chosen = await listen(server, port, '127.0.0.1');
	return { url: `http://127.0.0.1:${chosen}/card/`, close: () => server.close() };
}
