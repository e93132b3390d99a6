/**
 * One observation as one line of text, and back.
 *
 * Instants are rounded to a thousandth of a millisecond and ratios to a millionth, so that the text is as long as it
 * needs to be and the same on every machine. The header is written as it is: it holds periods that are worth their digits.
 * A line of a kind that this version does not know is not a mistake: a later version may have written it.
 */
import type { z } from 'zod';
import { OutsideFailure } from '../failure.ts';
import { FATES, FORMAT, type ObservationRecord, recordSchemas, VERSION } from './records.ts';

/** A kind this version does not know; kept apart and counted. */
export type UnknownRecord = { readonly kind: 'unknown'; readonly name: string };

const FINE_KEYS = new Set(['meanSquaredError', 'ssim']);
/** Shares, and cycles a pixel. */
const FINE_UNITS = /(Ratio|CyPx)$/;
const PRESENTED = FATES.indexOf('presented');
const ADVICE_WRONG = 'Use the file as the bench wrote it, or measure again.';

/** The record as one line without a line break. Throws `RangeError` on a number that is not finite. */
export function formatRecord(record: ObservationRecord): string {
	const exact = record.kind === 'header';
	return JSON.stringify(record, (key, value: unknown) => {
		if (typeof value !== 'number') return value;
		if (!Number.isFinite(value))
			throw new RangeError(`a record holds finite numbers only, got ${key}: ${value}`);
		if (exact) return value;
		return FINE_KEYS.has(key) || FINE_UNITS.test(key)
			? Math.round(value * 1e6) / 1e6
			: Math.round(value * 1e3) / 1e3;
	});
}

/**
 * The record of one line. Throws `OutsideFailure`: `lineTorn` when it is not whole JSON, `recordWrong` naming line and key
 * when it is not what its kind says, `formatForeign` and `formatNewer` for a header that is not ours to read.
 */
export function parseRecord(line: string, lineNumber = 1): ObservationRecord | UnknownRecord {
	const value = parseJson(line, lineNumber);
	const kind = isObject(value) ? value['kind'] : undefined;
	if (!isObject(value) || typeof kind !== 'string')
		throw wrong(lineNumber, 'kind', 'an object with a kind, in words, is expected');
	if (kind === 'header') checkFormat(value, lineNumber);
	if (!isKnown(kind)) return { kind: 'unknown', name: kind };
	const parsed = recordSchemas[kind].safeParse(value);
	if (!parsed.success) throw wrong(lineNumber, ...firstIssue(parsed.error));
	if (parsed.data.kind === 'presentations') checkRows(parsed.data.rows, lineNumber);
	if (parsed.data.kind === 'segment' && parsed.data.segment > 0xffff)
		throw wrong(lineNumber, 'segment', `at most ${0xffff} segments, got ${parsed.data.segment}`);
	return parsed.data;
}

function parseJson(line: string, lineNumber: number): unknown {
	try {
		return JSON.parse(line);
	} catch (cause) {
		throw new OutsideFailure(
			'lineTorn',
			`Line ${lineNumber} of the observations is not a whole record.`,
			'Use the file as the bench wrote it, or measure again.',
			{ cause },
		);
	}
}

function checkFormat(header: Record<string, unknown>, lineNumber: number): void {
	const { format, version } = header;
	if (format !== FORMAT)
		throw new OutsideFailure(
			'formatForeign',
			`Line ${lineNumber}: the format is ${JSON.stringify(format)}, not "${FORMAT}".`,
			'Give the observations.jsonl of a run folder.',
		);
	if (typeof version === 'number' && version > VERSION)
		throw new OutsideFailure(
			'formatNewer',
			`The observations are of version ${version}; this tool reads up to version ${VERSION}.`,
			'Read them with the version of the tool that wrote them, or a later one.',
		);
}

/** A frame has an instant of being seen exactly when it was presented; numbers must fit the columns they go to. */
function checkRows(rows: readonly (readonly (number | null)[])[], lineNumber: number): void {
	for (const [i, row] of rows.entries()) {
		if ((row[3] === PRESENTED) !== (row[5] !== null))
			throw wrong(lineNumber, `rows[${i}]`, 'seenMs is given exactly when the fate is "presented"');
		if (row[0]! > 0xffffffff) throw wrong(lineNumber, `rows[${i}][0]`, 'a frame number must fit 32 bits');
	}
}

function firstIssue(error: z.ZodError): [key: string, expected: string] {
	const issue = error.issues[0];
	if (issue === undefined) return ['record', 'the record does not fit its kind'];
	const path = issue.path.map((part, i) =>
		typeof part === 'number' ? `[${part}]` : `${i > 0 ? '.' : ''}${String(part)}`,
	);
	return [path.join('') || 'record', issue.message];
}

function wrong(lineNumber: number, key: string, expected: string): OutsideFailure {
	return new OutsideFailure(
		'recordWrong',
		`Line ${lineNumber} of the observations, key ${key}: ${expected}.`,
		ADVICE_WRONG,
	);
}

function isObject(value: unknown): value is Record<string, unknown> {
	return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isKnown(kind: string): kind is ObservationRecord['kind'] {
	return Object.hasOwn(recordSchemas, kind);
}
