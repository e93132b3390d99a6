/** Files of a later program: refused with both versions named, before anything else in them is called wrong. */
import { OutsideFailure } from '../failure.ts';

type KnownFormat = {
	readonly fileName: string;
	readonly format: string;
	/** Highest version that this program reads; it reads all before it too. */
	readonly version: number;
};

/** Throws `OutsideFailure` with that code when the value is a file of this format and of a later version; says nothing of any other. */
export function refuseNewer(
	value: unknown,
	{ fileName, format, version }: KnownFormat,
	code: 'fileNewer' | 'registerNewer' = 'fileNewer',
): void {
	if (typeof value !== 'object' || value === null) return;
	const said = value as { readonly format?: unknown; readonly version?: unknown };
	if (said.format !== format || typeof said.version !== 'number' || said.version <= version) return;
	throw new OutsideFailure(
		code,
		`${fileName} is of version ${said.version}; this program knows versions up to ${version}.`,
		'Use a newer steerworthy to read it.',
	);
}
