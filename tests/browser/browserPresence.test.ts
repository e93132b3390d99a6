/** Where the browser is required (CI), its absence fails here, once and by name; elsewhere its tests are counted as not run. */
import { expect, test } from 'vitest';
import { findBrowser } from '../../src/cli/installedBrowser.ts';

test('a browser is installed where one is required', () => {
	const required = process.env['STEERWORTHY_BROWSER'] === 'required';
	expect({ required, missing: required && findBrowser() === null }).toEqual({ required, missing: false });
});
