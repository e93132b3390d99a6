import fc from 'fast-check';
import { expect, test } from 'vitest';
import { JsonMistake, parseJsonLines } from '../../src/verdict/jsonLines.ts';

test('what JSON.stringify writes is read as JSON.parse reads it', () => {
	fc.assert(
		fc.property(fc.json({ maxDepth: 5 }), fc.constantFrom(0, 2, '\t'), (text, indent) => {
			const value: unknown = JSON.parse(text);
			const written = JSON.stringify(value, null, indent);
			expect(JSON.stringify(parseJsonLines(written).value)).toBe(JSON.stringify(JSON.parse(written)));
		}),
	);
});

test('what JSON.parse refuses is refused too, with a line', () => {
	const broken = fc.tuple(
		fc.json({ maxDepth: 3 }),
		fc.nat(),
		fc.constantFrom('', ',', '{', '"', '\\', '0', 'x'),
	);
	fc.assert(
		fc.property(broken, ([text, at, sign]) => {
			const cut = at % (text.length + 1);
			const damaged = text.slice(0, cut) + sign + text.slice(cut + 1);
			let refused = false;
			try {
				JSON.parse(damaged);
			} catch {
				refused = true;
			}
			if (refused) expect(() => parseJsonLines(damaged)).toThrow(JsonMistake);
		}),
		{ numRuns: 500 },
	);
});

test('every key knows the line it begins on, and a path that leads nowhere the nearest above', () => {
	const { lineOf } = parseJsonLines('{\n"a": {\n"b": [1,\n2]},\n"c": 3}');
	expect(lineOf(['a'])).toBe(2);
	expect(lineOf(['a', 'b'])).toBe(3);
	expect(lineOf(['a', 'b', 1])).toBe(4);
	expect(lineOf(['c'])).toBe(5);
	expect(lineOf(['a', 'x', 'y'])).toBe(2);
	expect(lineOf([])).toBe(1);
});

test('nesting that no criteria file needs is refused instead of filling the stack', () => {
	expect(() => parseJsonLines('['.repeat(100_000))).toThrow(JsonMistake);
});
