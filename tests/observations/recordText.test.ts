import fc from 'fast-check';
import { expect, test } from 'vitest';
import { OutsideFailure } from '../../src/failure.ts';
import type { ObservationRecord, PresentationRow } from '../../src/observations/records.ts';
import { formatRecord, parseRecord } from '../../src/observations/recordText.ts';
import { madeHeader, presentations, seenRow } from './madeRecords.ts';

function failureOf(work: () => unknown): OutsideFailure {
	try {
		work();
	} catch (error) {
		if (error instanceof OutsideFailure) return error;
		throw error;
	}
	throw new Error('nothing failed');
}

const thousandth = fc.integer({ min: -1e9, max: 1e9 }).map((n) => n / 1000);
const row = fc
	.tuple(
		fc.nat(0xffffffff),
		thousandth,
		thousandth,
		fc.integer({ min: 0, max: 5 }),
		fc.option(thousandth),
		thousandth,
	)
	.map(
		([n, due, shown, fate, decoded, seen]): PresentationRow => [
			n,
			due,
			shown,
			fate,
			decoded,
			fate === 0 ? seen : null,
		],
	);
const anyRecord: fc.Arbitrary<ObservationRecord> = fc.oneof(
	fc.array(row).map((rows) => presentations(rows)),
	fc
		.array(fc.tuple(thousandth, thousandth, thousandth, thousandth))
		.map((samples): ObservationRecord => ({ kind: 'pings', segment: 0, samples, quantumMs: 0.005 })),
	fc.tuple(thousandth, fc.string(), fc.option(fc.string())).map(
		([atMs, code, detail]): ObservationRecord => ({
			kind: 'event',
			segment: 3,
			atMs,
			code,
			frameNumber: 1,
			detail,
		}),
	),
	fc.constant(madeHeader),
);

test('a record comes back from its text as it was', () => {
	fc.assert(
		fc.property(anyRecord, (record) => {
			const text = formatRecord(record);
			expect(text).not.toContain('\n');
			expect(parseRecord(text)).toEqual(JSON.parse(JSON.stringify(record)));
		}),
	);
});

test('instants are rounded to a thousandth, ratios and errors kept finer, the header as it is', () => {
	const at = { segment: 0, frameNumber: 1, atMs: 12.34567 };
	const likeness = { ssim: 0.98765432, ssimVariant: 'x', mismatchRatio: 0.00001234, evidence: null };
	const text = formatRecord({ kind: 'picture', ...at, meanSquaredError: 0.00042, ...likeness });
	expect(JSON.parse(text)).toMatchObject({
		atMs: 12.346,
		ssim: 0.987654,
		meanSquaredError: 0.00042,
		mismatchRatio: 0.000012,
	});
	expect(parseRecord(formatRecord(madeHeader))).toEqual(madeHeader);
});

test('a number that is not finite is refused, not written as null', () => {
	expect(() => formatRecord({ kind: 'end', atMs: Number.NaN, reason: 'x' })).toThrow(RangeError);
});

test('a kind of a later version is kept apart by name', () => {
	expect(parseRecord('{"kind":"probe","atMs":1}')).toEqual({ kind: 'unknown', name: 'probe' });
	expect(parseRecord('{"kind":"toString"}')).toEqual({ kind: 'unknown', name: 'toString' });
});

test('a wrong record is refused with its line and key', () => {
	const text = '{"kind":"presentations","segment":0,"rows":[[1,0,0,1,null,null],[2,0,"x",1,null,null]]}';
	const failure = failureOf(() => parseRecord(text, 17));
	expect(failure.code).toBe('recordWrong');
	expect(failure.message).toContain('Line 17');
	expect(failure.message).toContain('rows[1][2]');
	expect(failureOf(() => parseRecord('[1]', 2)).message).toContain('key kind');
});

test('a frame presented but never seen, or seen but not presented, is a wrong record', () => {
	const unseen = JSON.stringify(presentations([[1, 0, 0, 0, 5, null]]));
	const seenLost = JSON.stringify(presentations([seenRow(0, 0, 9), [1, 0, 0, 5, null, 50]]));
	expect(failureOf(() => parseRecord(unseen)).message).toContain('rows[0]');
	expect(failureOf(() => parseRecord(seenLost)).message).toContain('rows[1]');
});

test('a newer version is refused with both versions named, a foreign format as foreign', () => {
	const newer = failureOf(() => parseRecord(JSON.stringify({ ...madeHeader, version: 9 })));
	expect(newer.code).toBe('formatNewer');
	expect(newer.message).toMatch(/version 9.*version 1/);
	expect(failureOf(() => parseRecord('{"kind":"header","format":"other"}')).code).toBe('formatForeign');
});
