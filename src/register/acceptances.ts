/**
 * Acceptance records on disk: one JSON and one page each, under `register/acceptances`. A draft may be written again; a
 * signed one never. The code that the second press asks for is a print of the record itself, so that what is signed is what
 * was shown.
 */
import { createHash } from 'node:crypto';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import type { AcceptanceRecord } from '../verdict/acceptanceRecord.ts';
import { writeDocument } from './documentFile.ts';
import { REGISTER_FOLDER } from './registerFolder.ts';

const CODE_LENGTH = 8;

/** What the second press must name. */
export function signOffCode(record: AcceptanceRecord): string {
	return createHash('sha256')
		.update(JSON.stringify({ ...record, signedAt: null }))
		.digest('hex')
		.slice(0, CODE_LENGTH);
}

/** Writes record and page; gives the page's path. Throws `OutsideFailure` `alreadySigned` rather than write over a signed one. */
export async function writeAcceptance(root: string, record: AcceptanceRecord, page: string): Promise<string> {
	const folder = join(root, REGISTER_FOLDER, 'acceptances');
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
	await writeDocument(`${stem}.json`, record);
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
