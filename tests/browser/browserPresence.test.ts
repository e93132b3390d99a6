/** Where the browser is required (CI), its absence fails here, once and by name. */
import { expect, test } from 'vitest';
import { findBrowser } from '../../src/cli/installedBrowser.ts';

test.runIf(process.env['STEERWORTHY_BROWSER'] === 'required')(
	'a browser is installed where one is required',
	() => {
		expect(findBrowser()).not.toBeNull();
	},
);
