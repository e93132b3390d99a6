import { createRequire } from 'node:module';

/** The program's own version, from its package file. */
export const TOOL_VERSION: string = readVersion();

function readVersion(): string {
	const description: unknown = createRequire(import.meta.url)('../../package.json');
	if (typeof description !== 'object' || description === null || !('version' in description))
		throw new TypeError('the package file carries no version');
	return String(description.version);
}
