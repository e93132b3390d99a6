/**
 * Acceptance records on disk: one JSON and one page each, under `register/acceptances`. A draft may be written again; a
 * signed one never, and it holds its own SHA-256, so that a changed one is named a year later. The code that the second press
 * asks for is a print of the record itself, so that what is signed is what was shown.
 */
import { createHash } from 'node:crypto';
import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import type { AcceptanceRecord } from '../verdict/acceptanceRecord.ts';
import { writeDocument } from './documentFile.ts';
import { REGISTER_FOLDER } from './registerFolder.ts';

export const ACCEPTANCES_FOLDER = `${REGISTER_FOLDER}/acceptances`;
const CODE_LENGTH = 8;

/** What the second press must name. */
export function signOffCode(record: AcceptanceRecord): string {
	return printOf({ ...record, signedAt: null }).slice(0, CODE_LENGTH);
}

function printOf(record: object): string {
	return createHash('sha256').update(JSON.stringify(record)).digest('hex');
}

/** Writes record and page; gives the page's path. Throws `OutsideFailure` `alreadySigned` rather than write over a signed one. */
export async function writeAcceptance(root: string, record: AcceptanceRecord, page: string): Promise<string> {
	const folder = join(root, ACCEPTANCES_FOLDER);
	const stem = join(folder, fileStem(record));
	const kept = await readFile(`${stem}.json`, 'utf8').catch(() => null);
	if (kept !== null && isSigned(kept))
		throw new OutsideFailure(
			'alreadySigned',
			`The acceptance of ${record.kit} under job ${record.form.jobNumber} is signed and stays as it is.`,
			'Give a new job number for a new acceptance.',
		);
	await mkdir(folder, { recursive: true });
	await writeFile(`${stem}.html`, page);
	await writeDocument(
		`${stem}.json`,
		record.signedAt === null
			? record
			: { ...record, recordSha256: printOf(record), pageSha256: textPrint(page) },
	);
	return `${stem}.html`;
}

/** A torn record counts as signed: nothing is written over what cannot be read. */
function isSigned(text: string): boolean {
	try {
		return (JSON.parse(text) as { signedAt?: unknown }).signedAt !== null;
	} catch {
		return true;
	}
}

function fileStem({ kit, form }: AcceptanceRecord): string {
	const job = form.jobNumber.trim() === '' ? 'draft' : form.jobNumber;
	return `${kit}-${job}`.replace(/[^A-Za-z0-9._-]+/g, '-').slice(0, 120);
}

function textPrint(text: string): string {
	return createHash('sha256').update(text).digest('hex');
}

/** Signed records that are no longer what was signed, or cannot be read, each in one sentence. */
export async function checkAcceptances(root: string): Promise<string[]> {
	const folder = join(root, ACCEPTANCES_FOLDER);
	const names = (await readdir(folder).catch(() => [])).filter((name) => name.endsWith('.json')).sort();
	const faults = await Promise.all(names.map((name) => faultOf(join(folder, name))));
	return faults.filter((fault) => fault !== null);
}

async function faultOf(path: string): Promise<string | null> {
	const page = await readFile(path.replace(/json$/, 'html'), 'utf8').catch(() => null);
	try {
		const { recordSha256, pageSha256, ...record } = JSON.parse(await readFile(path, 'utf8')) as {
			readonly recordSha256?: unknown;
			readonly pageSha256?: unknown;
			readonly signedAt?: unknown;
		};
		if (record.signedAt === null) return null;
		if (recordSha256 !== printOf(record))
			return `${path} is not the acceptance that was signed: it was changed.`;
		if (page === null) return `${path}: its page is missing.`;
		return pageSha256 === textPrint(page) ? null : `${path}: its page was changed since it was signed.`;
	} catch {
		return `${path} is torn or not JSON.`;
	}
}
