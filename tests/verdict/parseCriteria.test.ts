import { expect, test } from 'vitest';
import { OutsideFailure } from '../../src/failure.ts';
import { lineOf, standardCriteria } from '../../src/verdict/criteria.ts';
import { parseCriteria } from '../../src/verdict/parseCriteria.ts';

function failure(text: string): OutsideFailure {
	try {
		parseCriteria(text, 'ours.json');
	} catch (error) {
		if (error instanceof OutsideFailure) return error;
		throw error;
	}
	throw new Error('the file was accepted');
}

/** A file whose lines start on line 5. */
function file(...lines: readonly string[]): string {
	return [
		'{',
		'\t"format": "steerworthy-criteria", "version": 1,',
		'\t"name": "our yard",',
		'\t"lines": {',
		lines.join(',\n'),
		'\t}',
		'}',
	].join('\n');
}

test('a file changes what it names and keeps the rest of the standard', () => {
	const criteria = parseCriteria(
		file('"age": { "level": 200, "source": "our own" }', '"lost": { "limit": 0.05 }'),
		'f',
	);
	expect(criteria.name).toBe('our yard');
	expect(lineOf(criteria, 'age')).toMatchObject({ level: 200, limit: 0.05, source: 'our own' });
	expect(lineOf(criteria, 'lost')).toMatchObject({
		limit: 0.05,
		source: expect.stringContaining('no source given'),
	});
	expect(lineOf(criteria, 'delay')).toEqual(lineOf(standardCriteria, 'delay'));
});

test('a file may write a direction down, and a byte order mark is no mistake', () => {
	const text = `\uFEFF${file('"age": { "direction": "atMost" }')}`;
	expect(parseCriteria(text, 'f').lines).toEqual(standardCriteria.lines);
});

test('a stricter limit for freezes binds the long profile too, unless that has its own', () => {
	const limits = (text: string) => lineOf(parseCriteria(file(text), 'f'), 'freezes');
	expect(limits('"freezes": { "limit": 0.2 }')).toMatchObject({ limit: 0.2, limitLong: 0.2 });
	expect(limits('"freezes": { "limit": 0.9 }')).toMatchObject({ limit: 0.9, limitLong: 0.3 });
	expect(limits('"freezes": { "limit": 0.9, "limitLong": 0.5 }')).toMatchObject({
		limit: 0.9,
		limitLong: 0.5,
	});
});

test('a criteria file of a later version is refused with both versions named, whatever else it holds', () => {
	const later = '{ "format": "steerworthy-criteria", "version": 4, "name": "later", "rules": {} }';
	expect(failure(later)).toMatchObject({ code: 'fileNewer' });
	expect(failure(later).message).toBe('ours.json is of version 4; this program knows versions up to 1.');
	expect(failure(later.replace('criteria"', 'other"')).code).toBe('criteriaFileWrong');
});

const mistakes: readonly (readonly [
	what: string,
	text: string,
	line: number,
	happened: string,
	advice: string,
])[] = [
	[
		'an unknown line',
		file('"age": {}', '"lag": { "limit": 1 }'),
		6,
		'unknown key "lines.lag"',
		'age, delay, variation',
	],
	[
		'an unknown key',
		file('"age": {\n"limits": 0.1 }'),
		6,
		'unknown key "lines.age.limits"',
		'level, limit, comfort',
	],
	[
		'a level that does not move',
		file('"gaps": { "level": 400 }'),
		5,
		'unknown key "lines.gaps.level"',
		'limit',
	],
	[
		'a turned direction',
		file('"age": { "direction": "atLeast" }'),
		5,
		'"lines.age.direction" is wrong',
		'"atMost"',
	],
	[
		'an unknown direction',
		file('"age": { "direction": "up" }'),
		5,
		'"lines.age.direction" is wrong',
		'"atMost"',
	],
	['a share in per cent', file('"age": {\n"limit": 5 }'), 6, '"lines.age.limit" is wrong', '5 % is 0.05'],
	['a limit in words', file('"age": { "limit": "5 %" }'), 5, '"lines.age.limit" is wrong', 'share above 0'],
	[
		'a limit below zero',
		file('"variation": { "limit": -1 }'),
		5,
		'"lines.variation.limit" is wrong',
		'above 0',
	],
	[
		'a limit beyond sense',
		file('"variation": { "limit": 1e9 }'),
		5,
		'"lines.variation.limit" is wrong',
		'10000',
	],
	[
		'a limit where there is none',
		file('"orientation": { "limit": 1 }'),
		5,
		'unknown key',
		'direction, source',
	],
	['a line taken out', file('"age": null'), 5, '"lines.age" is wrong', 'level, limit'],
	['no name', '{\n"format": "steerworthy-criteria",\n"version": 1 }', 1, '"name" is missing', '1 to 80'],
	[
		'another format',
		'{\n"format": "other",\n"version": 1, "name": "x" }',
		2,
		'"format" is wrong',
		'steerworthy-criteria',
	],
	[
		'a version that is none',
		'{ "format": "steerworthy-criteria",\n"version": "1", "name": "x" }',
		2,
		'"version" is wrong',
		'1',
	],
	['a list', '[]', 1, 'the file', 'one object'],
	['a missing comma', file('"age": { "limit": 0.1 }\n"lost": {}'), 6, 'not JSON', '","'],
	['a key written twice', file('"age": {}', '"lost": {}', '"age": {}'), 7, 'not JSON', 'only once'],
	['a file that breaks off', '{\n"format": "steerworthy-criteria",\n', 3, 'not JSON', 'key in double quotes'],
	['an empty file', '', 1, 'not JSON', 'a value'],
	['a bare word', '{\n\n"name": NaN }', 3, 'not JSON', 'a value'],
	['a proto key', file('"__proto__": { "limit": 1 }'), 5, '"lines.__proto__"', 'the lines'],
];

test.each(mistakes)('%s is pointed at by line and key', (_what, text, line, happened, advice) => {
	const mistake = failure(text);
	expect(mistake.code).toBe('criteriaFileWrong');
	expect(mistake.message).toContain(`ours.json, line ${line}: `);
	expect(mistake.message).toContain(happened);
	expect(mistake.advice).toContain(advice);
});

test.each([
	'"half-second": { "level": 700 }',
	'"half-second": { "level": 300 }',
	'"half-second": { "limit": 0.9 }',
	'"half-second": { "limit": 0.9, "level": 500 }',
	'"half-second": null',
	'"half-second": []',
	'"half-second": { "gates": [] }',
])('the half-second line cannot be moved, weakened or removed: %s', (text) => {
	const moved = failure(file('"age": {}', text));
	expect(moved.code).toBe('halfSecondMoved');
	expect(moved.message).toContain('ours.json, line 6: ');
});

test('the half-second line may be written down as it stands', () => {
	const text = file('"half-second": { "level": 500, "limit": 0.5, "direction": "atMost" }');
	expect(parseCriteria(text, 'f').lines).toEqual(standardCriteria.lines);
});

test('no file goes by the name of a built-in set with other numbers', () => {
	const named = (name: string, level: number) =>
		parseCriteria(
			JSON.stringify({ format: 'steerworthy-criteria', version: 1, name, lines: { age: { level } } }),
			'own.json',
		);
	expect(() => named('Standard', 300)).toThrow(/line 1: "name" is that of a built-in set/);
	expect(named('standard', 240).name).toBe('standard');
	expect(named('our yard', 300).name).toBe('our yard');
});
