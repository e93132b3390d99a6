import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { standardCriteria } from '../../src/verdict/criteria.ts';
import { judgeRun } from '../../src/verdict/judgeRun.ts';
import { parseCriteria } from '../../src/verdict/parseCriteria.ts';
import { buildResult, resultJsonSchema, resultSchema } from '../../src/verdict/resultDocument.ts';
import { roundFigures, roundTo } from '../../src/verdict/rounding.ts';
import { freshDelay, madeMetrics, tooLate, unmeasured } from './madeMetrics.ts';

function result(over: Parameters<typeof madeMetrics>[0] = {}, criteria = standardCriteria) {
	const metrics = madeMetrics(over);
	return buildResult({
		metrics,
		...judgeRun(metrics, criteria),
		criteria,
		toolVersion: '0.1.0',
		endedBy: 'runEnd',
	});
}

test('a result survives being written and read', () => {
	const everythingMissing = {
		freshDelay: unmeasured,
		pictureAge: unmeasured,
		colour: unmeasured,
		harness: unmeasured,
	};
	for (const made of [result(), result(tooLate), result(everythingMissing)]) {
		expect(resultSchema.parse(JSON.parse(JSON.stringify(made)))).toEqual(made);
	}
});

test('a result of an earlier program is read, and what it does not tell is not known, not nought', () => {
	const path = resolve(import.meta.dirname, '../../fixtures/results/before-largest-cluster.json');
	const text = readFileSync(path, 'utf8');
	expect(text).not.toContain('clusterRatio');
	const { metrics } = resultSchema.parse(JSON.parse(text));
	if (metrics.pictureAge.kind !== 'measured') throw new Error('the old example has an age');
	expect(metrics.pictureAge.p95UpperMs).toBe(141.39);
	expect(metrics.pictureAge.overLimit.clusterRatio).toBeUndefined();
	expect(() => resultSchema.parse({ ...JSON.parse(text), version: 2 })).toThrow();
});

test('it holds what design.md 5 names', () => {
	const made = result();
	expect(made.run).toMatchObject({
		id: 'made-1',
		rig: 'link',
		kit: null,
		place: 'the yard',
		endedBy: 'runEnd',
	});
	expect(made.metrics.sharpness).toEqual(unmeasured);
	expect(made.criteria.map(({ id }) => id)).toContain('half-second');
	expect(made.verdict).toMatchObject({ fitness: 'steering', roomLeftMs: 78 });
	expect(made.verdict.criteria).toEqual({ name: 'standard', hash: made.criteriaSet.hash });
});

test('criteria of one’s own are told apart from the standard', () => {
	const own = parseCriteria(
		'{"format":"steerworthy-criteria","version":1,"name":"ours","lines":{"lost":{"limit":0.2}}}',
		'f',
	);
	expect(result({}, own).criteriaSet).toMatchObject({
		name: 'ours',
		differsFromStandard: ['lost: limit 0.2 instead of 0.1'],
	});
});

test('figures that differ in their last bits give the same document', () => {
	const one = result({ freshDelay: freshDelay({ medianMs: 0.1 + 0.2 + 90 }) });
	const other = result({ freshDelay: freshDelay({ medianMs: 90.3 }) });
	expect(JSON.stringify(one)).toBe(JSON.stringify(other));
});

test('each figure is rounded by the unit in its name, and rounding again changes nothing', () => {
	expect(
		roundFigures({ meanMs: 1.23456, lostRatio: 0.123456789, busy: null, steps: [{ atMs: -0.001 }] }),
	).toEqual({
		meanMs: 1.23,
		lostRatio: 0.123457,
		busy: null,
		steps: [{ atMs: 0 }],
	});
	fc.assert(
		fc.property(
			fc.double({ min: -1e6, max: 1e6, noNaN: true }),
			fc.integer({ min: 0, max: 6 }),
			(x, decimals) => {
				const once = roundTo(x, decimals);
				expect(roundTo(once, decimals)).toBe(once);
				expect(Math.abs(once - x)).toBeLessThanOrEqual(0.5000001 * 10 ** -decimals);
			},
		),
	);
});

test('a figure that is not a number never reaches a document', () => {
	expect(() => result({ freshDelay: freshDelay({ medianMs: Number.NaN }) })).toThrow(RangeError);
});

test('the JSON Schema asks for the parts of the document', () => {
	const schema = resultJsonSchema();
	expect(schema).toMatchObject({
		type: 'object',
		required: expect.arrayContaining(['run', 'metrics', 'criteria', 'warnings', 'verdict']),
		properties: { verdict: { properties: { steer: { enum: ['yes', 'no', 'undetermined', 'notAsked'] } } } },
	});
	expect(JSON.parse(JSON.stringify(schema))).toEqual(schema);
});
