/**
 * The register's own small JSON files: read with a schema, written whole or not at all, and never taken for what they are
 * not. A file of a newer format is refused with both versions named, a torn or foreign one with its path.
 */
import { readFileSync } from 'node:fs';
import { mkdir, rename, writeFile } from 'node:fs/promises';
import { dirname } from 'node:path';
import type { z } from 'zod';
import { OutsideFailure } from '../failure.ts';
import { refuseNewer } from '../verdict/fileVersion.ts';

export type DocumentKind<T> = {
	readonly format: string;
	/** Highest version that this program reads; it reads all before it too. */
	readonly version: number;
	readonly schema: z.ZodType<T>;
};

/**
 * Throws `OutsideFailure` `registerUnreadable` or `registerNewer`. Waits for the disk: of thousands of small files each wait that is
 * handed out costs more than the reading.
 */
export function readDocument<T>(path: string, kind: DocumentKind<T>): T {
	return parseDocument(textOf(path), path, kind);
}

function textOf(path: string): string {
	try {
		return readFileSync(path, 'utf8');
	} catch (cause) {
		throw unreadable(path, 'could not be opened', cause);
	}
}

export function parseDocument<T>(text: string, path: string, kind: DocumentKind<T>): T {
	const value = parseJson(text, path);
	refuseNewer(value, { fileName: path, ...kind }, 'registerNewer');
	const parsed = kind.schema.safeParse(value);
	if (parsed.success) return parsed.data;
	const [issue] = parsed.error.issues;
	const key = issue?.path.map(String).join('.') ?? '';
	throw unreadable(path, `is not a ${kind.format} file: ${key === '' ? 'wrong shape' : `"${key}" is wrong`}`);
}

/** Written beside its place and moved there, so that a computer that dies leaves the old file. */
export async function writeDocument(path: string, document: unknown): Promise<void> {
	await mkdir(dirname(path), { recursive: true });
	const beside = `${path}.${process.pid}.part`;
	await writeFile(beside, `${JSON.stringify(document, null, '\t')}\n`);
	await rename(beside, path);
}

function parseJson(text: string, path: string): unknown {
	try {
		return JSON.parse(text) as unknown;
	} catch (cause) {
		throw unreadable(path, 'is torn or not JSON', cause);
	}
}

function unreadable(path: string, what: string, cause?: unknown): OutsideFailure {
	return new OutsideFailure(
		'registerUnreadable',
		`${path} ${what}.`,
		'Copy the file again from where it is whole, or take it out of the folder.',
		{ cause },
	);
}
