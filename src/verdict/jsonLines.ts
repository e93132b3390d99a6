/**
 * JSON that knows where it stands: the value, and the line on which each key and item begins, so that a mistake in a
 * person's file is pointed at. Stricter than `JSON.parse` in one thing: a key written twice is a mistake, for one of the
 * two would be lost without a word. Source of the grammar: RFC 8259, from memory; `JSON.parse` is the second opinion in
 * the tests.
 */
type JsonValue = null | boolean | number | string | JsonValue[] | { [key: string]: JsonValue };

/** A mistake in the text itself: the line (from 1) and what was expected there. */
export class JsonMistake extends Error {
	readonly line: number;

	constructor(line: number, expected: string) {
		super(expected);
		this.name = 'JsonMistake';
		this.line = line;
	}
}

export type JsonWithLines = {
	readonly value: JsonValue;
	/** Line of the value under that path, from 1; the nearest line above where the path leads nowhere. */
	lineOf(path: readonly PropertyKey[]): number;
};

/** Deeper nesting than any criteria file needs; keeps a hostile file from exhausting the stack. */
const MOST_DEEP = 32;
const LITERALS: Readonly<Record<string, JsonValue>> = { true: true, false: false, null: null };
const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
/** From quote to quote on one line; what stands between is left to `JSON.parse`. */
const STRING = /"(?:[^"\\\r\n]|\\.)*"/y;
const WORD = /[a-z]+/y;
const SPACE = /[ \t\r\n]*/y;

/** Throws `JsonMistake`. */
export function parseJsonLines(text: string): JsonWithLines {
	const reader = new Reader(text);
	const value = reader.document();
	return { value, lineOf: (path) => nearestLine(reader.lines, path) };
}

function nearestLine(lines: ReadonlyMap<string, number>, path: readonly PropertyKey[]): number {
	for (let length = path.length; length > 0; length--) {
		const line = lines.get(pathKey(path.slice(0, length)));
		if (line !== undefined) return line;
	}
	return 1;
}

function pathKey(path: readonly PropertyKey[]): string {
	return JSON.stringify(path.map(String));
}

class Reader {
	readonly lines = new Map<string, number>();
	readonly #text: string;
	#at = 0;

	constructor(text: string) {
		this.#text = text;
	}

	document(): JsonValue {
		this.#take(SPACE);
		const value = this.#value([]);
		this.#take(SPACE);
		if (this.#at < this.#text.length) throw this.#mistake('nothing more after the closing brace');
		return value;
	}

	#value(path: readonly string[]): JsonValue {
		if (path.length > MOST_DEEP) throw this.#mistake(`no more than ${MOST_DEEP} levels`);
		const next = this.#text[this.#at];
		if (next === '{') return this.#object(path);
		if (next === '[') return this.#array(path);
		if (next === '"') return this.#string();
		const number = this.#take(NUMBER);
		if (number !== '') return Number(number);
		return this.#literal();
	}

	#literal(): JsonValue {
		const start = this.#at;
		const word = this.#take(WORD);
		if (Object.hasOwn(LITERALS, word)) return LITERALS[word] ?? null;
		this.#at = start;
		throw this.#mistake('a value (a number, a text in double quotes, true, false, null, { or [)');
	}

	#object(path: readonly string[]): JsonValue {
		const entries = new Map<string, JsonValue>();
		this.#list('}', () => {
			const line = this.#line();
			if (this.#text[this.#at] !== '"') throw this.#mistake('a key in double quotes');
			const key = this.#string();
			if (entries.has(key)) throw this.#mistake(`the key "${key}" only once`);
			this.#take(SPACE);
			this.#expect(':');
			const inner = [...path, key];
			this.lines.set(pathKey(inner), line);
			entries.set(key, this.#value(inner));
		});
		return Object.fromEntries(entries);
	}

	#array(path: readonly string[]): JsonValue {
		const items: JsonValue[] = [];
		this.#list(']', () => {
			const inner = [...path, String(items.length)];
			this.lines.set(pathKey(inner), this.#line());
			items.push(this.#value(inner));
		});
		return items;
	}

	/** Items between commas up to the closing sign; the opening one is at hand. */
	#list(close: string, item: () => void): void {
		this.#at++;
		this.#take(SPACE);
		if (this.#text[this.#at] !== close) {
			item();
			this.#take(SPACE);
			while (this.#text[this.#at] === ',') {
				this.#expect(',');
				item();
				this.#take(SPACE);
			}
		}
		if (this.#text[this.#at] !== close) throw this.#mistake(`"," or "${close}"`);
		this.#at++;
	}

	#string(): string {
		const quoted = this.#take(STRING);
		if (quoted === '') throw this.#mistake('a text that ends with a double quote on the same line');
		try {
			return String(JSON.parse(quoted));
		} catch {
			throw this.#mistake('a text without bare control signs or unknown escapes');
		}
	}

	#expect(sign: string): void {
		if (this.#text[this.#at] !== sign) throw this.#mistake(`"${sign}"`);
		this.#at++;
		this.#take(SPACE);
	}

	/** What the sticky pattern finds here, which is then behind us. */
	#take(pattern: RegExp): string {
		pattern.lastIndex = this.#at;
		const found = pattern.exec(this.#text)?.[0] ?? '';
		this.#at += found.length;
		return found;
	}

	#line(): number {
		return this.#text.slice(0, this.#at).split('\n').length;
	}

	#mistake(expected: string): JsonMistake {
		return new JsonMistake(this.#line(), expected);
	}
}
