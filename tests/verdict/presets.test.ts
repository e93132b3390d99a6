import { expect, test } from 'vitest';
import { renderCriteriaFile } from '../../src/report/criteriaText.ts';
import { criteriaHash, differsFromStandard, lineOf, standardCriteria } from '../../src/verdict/criteria.ts';
import { judgeRun } from '../../src/verdict/judgeRun.ts';
import { criteriaFileJsonSchema, parseCriteria } from '../../src/verdict/parseCriteria.ts';
import { presets, reasoningOf } from '../../src/verdict/presets.ts';
import { madeMetrics } from './madeMetrics.ts';

test('strict asks no less than standard and gentle no more, on every line', () => {
	const sets = ['strict', 'standard', 'gentle'].map((name) => presets.get(name)!.criteria);
	for (const { id, direction } of standardCriteria.lines) {
		// A level counts as a limit does: what lies beyond it is held against the kit.
		const sign = direction === 'atMost' && id !== 'rate' ? 1 : -1;
		for (const key of ['level', 'limit', 'limitLong'] as const) {
			const [strict = 0, standard = 0, gentle = 0] = sets.map((set) => sign * (lineOf(set, id)[key] ?? 0));
			expect(strict, `${id} ${key}`).toBeLessThanOrEqual(standard);
			expect(standard, `${id} ${key}`).toBeLessThanOrEqual(gentle);
		}
	}
});

test('the half-second line is the same in every preset', () => {
	for (const { criteria } of presets.values()) {
		expect(lineOf(criteria, 'half-second')).toEqual(lineOf(standardCriteria, 'half-second'));
		expect(() => judgeRun(madeMetrics(), criteria)).not.toThrow();
	}
});

test('each preset has reasons of its own, found by its numbers whatever it is called', () => {
	for (const { criteria, reasoning } of presets.values()) {
		expect(reasoningOf(criteriaHash({ ...criteria, name: 'ours' }))).toBe(reasoning);
		expect(reasoning.length).toBeGreaterThan(1);
	}
	expect(reasoningOf('0000000000000000')).toBeNull();
	expect(differsFromStandard(standardCriteria)).toEqual([]);
});

test('a preset printed as a file is read back as the same criteria', () => {
	for (const { criteria } of presets.values())
		expect(criteriaHash(parseCriteria(renderCriteriaFile(criteria), 'printed.json'))).toBe(
			criteriaHash(criteria),
		);
});

test('the schema of a criteria file names every line but lets none be turned round', () => {
	expect(JSON.stringify(criteriaFileJsonSchema())).toContain('"moving-record"');
});
