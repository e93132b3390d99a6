import { expect, test } from 'vitest';
import {
	criteriaHash,
	differsFromStandard,
	lineOf,
	standardCriteria,
	thresholdsOf,
} from '../../src/verdict/criteria.ts';
import { LINE_IDS, type LineId } from '../../src/verdict/criteriaLine.ts';
import { fnv1a64 } from '../../src/verdict/fnv1a.ts';
import { parseCriteria } from '../../src/verdict/parseCriteria.ts';
import { requirementOf } from '../../src/verdict/requiredLines.ts';

function file(lines: unknown): string {
	return JSON.stringify({ format: 'steerworthy-criteria', version: 1, name: 'ours', lines });
}

test('the standard limits are those of design.md 6', () => {
	const limits = Object.fromEntries(
		standardCriteria.lines.map(({ id, level, limit }) => [id, [level, limit]]),
	);
	expect(limits).toEqual({
		age: [240, 0.05],
		delay: [200, 0.05],
		'half-second': [500, 0.5],
		variation: [null, 100],
		rate: [15, 0.05],
		freezes: [null, 0.6],
		gaps: [500, 0.6],
		lost: [null, 0.1],
		'lost-record': [null, 0.01],
		orientation: [null, null],
		continuity: [5000, 0.6],
		'moving-record': [24, 0.9],
		colour: [null, 3],
		'colour-p95': [null, 6],
		detail: [null, 0.8],
	});
	for (const id of ['freezes', 'gaps', 'continuity'] as const)
		expect(lineOf(standardCriteria, id).limitLong).toBe(0.3);
	expect(LINE_IDS.every((id) => lineOf(standardCriteria, id).source !== '')).toBe(true);
});

test('a rig requires only lines that gate the answer it asks', () => {
	for (const rig of ['link', 'optical', 'recording', 'still'] as const) {
		for (const answer of ['steer', 'record'] as const) {
			const requirement = requirementOf(rig, answer);
			if (requirement.kind !== 'asked') continue;
			for (const id of [...requirement.always, ...requirement.whereReferenced]) {
				expect(lineOf(standardCriteria, id).gates).toContain(answer);
			}
		}
	}
	const link = requirementOf('link', 'steer');
	expect(link.kind === 'asked' && link.always).toEqual([
		'age',
		'delay',
		'half-second',
		'variation',
		'rate',
		'freezes',
		'gaps',
		'lost',
	] satisfies LineId[]);
});

test('the metrics count at the levels of the criteria', () => {
	expect(thresholdsOf(standardCriteria)).toEqual({
		ageLimitMs: 240,
		delayLimitMs: 200,
		halfSecondMs: 500,
		slowRateHz: 15,
		allowedRatio: 0.05,
	});
	const strict = parseCriteria(file({ age: { level: 180, limit: 0.02 }, delay: { limit: 0.2 } }), 'c.json');
	expect(thresholdsOf(strict)).toMatchObject({ ageLimitMs: 180, allowedRatio: 0.02 });
	const lax = parseCriteria(file({ age: { limit: 0.2 }, delay: { limit: 0.2 } }), 'c.json');
	expect(thresholdsOf(lax).allowedRatio).toBe(0.05);
});

test('the hash names the numbers that decide, not the words', () => {
	const hash = criteriaHash(standardCriteria);
	expect(hash).toMatch(/^[0-9a-f]{16}$/);
	expect(criteriaHash({ name: 'ours', lines: [...standardCriteria.lines].reverse() })).toBe(hash);
	expect(criteriaHash(parseCriteria(file({ age: { source: 'our own log' } }), 'c.json'))).toBe(hash);
	expect(criteriaHash(parseCriteria(file({ age: { limit: 0.04 } }), 'c.json'))).not.toBe(hash);
});

// The authors' test vectors, from memory; the last one checks the UTF-8 bytes against the encoder that Node has.
test.each([
	['', 'cbf29ce484222325'],
	['a', 'af63dc4c8601ec8c'],
	['foobar', '85944171f73967e8'],
])('FNV-1a of "%s" is %s', (text, hash) => {
	expect(fnv1a64(text)).toBe(hash);
});

test('FNV-1a hashes the UTF-8 bytes of a text', () => {
	const text = 'é 19× Ω 🐎';
	let hash = 0xcbf29ce484222325n;
	for (const byte of new TextEncoder().encode(text)) {
		hash = BigInt.asUintN(64, (hash ^ BigInt(byte)) * 0x100000001b3n);
	}
	expect(fnv1a64(text)).toBe(hash.toString(16).padStart(16, '0'));
});

test('what differs from the standard is told in words', () => {
	expect(differsFromStandard(standardCriteria)).toEqual([]);
	expect(
		differsFromStandard(parseCriteria(file({ age: { level: 200 }, freezes: { limit: 0.2 } }), 'c.json')),
	).toEqual([
		'age: level 200 instead of 240',
		'freezes: limit 0.2 instead of 0.6',
		'freezes: limitLong 0.2 instead of 0.3',
	]);
});
