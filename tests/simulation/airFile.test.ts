import { expect, test } from 'vitest';
import { OutsideFailure } from '../../src/failure.ts';
import { parseAirSpec } from '../../src/simulation/airFile.ts';
import { airPresets } from '../../src/simulation/airPresets.ts';
import { stillAir } from '../../src/simulation/airSpec.ts';

function failureOf(text: string): OutsideFailure {
	try {
		parseAirSpec(text, 'barn.json');
	} catch (error) {
		if (error instanceof OutsideFailure) return error;
		throw error;
	}
	throw new Error('nothing failed');
}

test('a delay alone is a whole air, named after its file', () => {
	expect(parseAirSpec('{ "delayMs": 12.5 }', 'barn.json')).toEqual({
		...stillAir,
		name: 'barn.json',
		delayMs: 12.5,
	});
});

test('parts left out within a part take what is usual', () => {
	const text = '{"delayMs":1,"loss":{"p":0.1,"r":0.5},"outages":{"scheduled":[{"atMs":1,"lengthMs":2}]}}';
	expect(parseAirSpec(text, 'x')).toMatchObject({
		loss: { p: 0.1, r: 0.5, k: 1, h: 0 },
		outages: { scheduled: [{ atMs: 1, lengthMs: 2 }], random: null, packets: 'held' },
	});
});

test('every preset comes back from its own text', () => {
	for (const { spec } of airPresets.values())
		expect(parseAirSpec(JSON.stringify(spec, null, '\t'), 'preset.json')).toEqual(spec);
});

test.each([
	[
		'a value out of range',
		'{\n"delayMs": 5,\n"loss": {\n"p": 1.4, "r": 0.5 }}',
		'line 4, key "loss.p"',
		'from 0 to 1',
	],
	['a misspelt key', '{"delayMs": 5,\n"jiter": {}}', 'line 2, key "jiter"', 'spread'],
	['a missing key', '{\n"name": "x"\n}', 'line 1, key "delayMs"', 'milliseconds'],
	['a missing inner key', '{"delayMs":1,\n"rate": {\n}}', 'line 2, key "rate.kbitPerSecond"', 'above 0'],
	[
		'a wrong item of a list',
		'{"delayMs":1,"outages":{"scheduled":[\n{"atMs":1,"lengthMs":2},\n{"atMs":"soon","lengthMs":2}]}}',
		'line 3, key "outages.scheduled[1].atMs"',
		'milliseconds',
	],
	['an unknown word', '{"delayMs":1,"carriage":"pigeon"}', 'key "carriage"', '"datagrams" or "stream"'],
	['an unknown distribution', '{"delayMs":1,"spread":{"kind":"odd"}}', 'key "spread"', 'gamma'],
	[
		'a part of another distribution',
		'{"delayMs":1,"spread":{"kind":"gamma","meanMs":1}}',
		'spread.meanMs',
		'scaleMs',
	],
	[
		'a stretch longer than its period',
		'{"delayMs":1,"periodic":{"everyMs":5,"lengthMs":5}}',
		'periodic.lengthMs',
		'5',
	],
	[
		'a range turned round',
		'{"delayMs":1,"spread":{"kind":"uniform","fromMs":5,"toMs":1}}',
		'spread.toMs',
		'5',
	],
	['a comma too many', '{\n"delayMs": 5,\n}', 'line 3', 'commas'],
	['a file cut short', '{\n"delayMs": 5,\n"loss', 'line 3', 'commas'],
	['a list instead of an object', '[1]', 'line 1', 'delayMs'],
])('%s is pointed at, with what is allowed', (_, text, where, allowed) => {
	const failure = failureOf(text);
	expect(failure.code).toBe('airFileWrong');
	expect(failure.message).toContain('barn.json');
	expect(failure.message).toContain(where);
	expect(failure.advice).toContain(allowed);
});
