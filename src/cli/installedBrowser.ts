/** Where an installed Chromium-family browser is, if there is one. Nothing is fetched. */
import { existsSync } from 'node:fs';
import { join } from 'node:path';

const PLACES: Readonly<Record<string, readonly string[]>> = {
	linux: ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome', '/snap/bin/chromium'],
	darwin: [
		'/Applications/Chromium.app/Contents/MacOS/Chromium',
		'/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
		'/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge',
	],
	win32: ['PROGRAMFILES', 'PROGRAMFILES(X86)', 'LOCALAPPDATA'].flatMap((variable) => {
		const root = process.env[variable];
		return root === undefined
			? []
			: [
					join(root, 'Google/Chrome/Application/chrome.exe'),
					join(root, 'Chromium/Application/chrome.exe'),
					join(root, 'Microsoft/Edge/Application/msedge.exe'),
				];
	}),
};

/** Path of the browser, STEERWORTHY_CHROMIUM first; null when none is found. */
export function findBrowser(): string | null {
	const named = process.env['STEERWORTHY_CHROMIUM'];
	if (named !== undefined && named !== '') return existsSync(named) ? named : null;
	return PLACES[process.platform]?.find((path) => existsSync(path)) ?? null;
}
