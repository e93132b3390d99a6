/**
 * FNV-1a, 64 bits, over the UTF-8 bytes of a text: a short name for a text, the same on every machine. Not a guard
 * against forgery. Source: the authors' own description and test vectors (from memory; the vectors are in the tests).
 */
const OFFSET = 0xcbf29ce484222325n;
const PRIME = 0x100000001b3n;
const MASK = 0xffffffffffffffffn;

/** Sixteen hex digits. */
export function fnv1a64(text: string): string {
	let hash = OFFSET;
	for (const byte of utf8(text)) hash = ((hash ^ BigInt(byte)) * PRIME) & MASK;
	return hash.toString(16).padStart(16, '0');
}

/** The core has no TextEncoder. A lone surrogate is encoded as it stands. */
function* utf8(text: string): Generator<number> {
	for (const character of text) {
		const code = character.codePointAt(0) ?? 0;
		if (code < 0x80) yield code;
		else if (code < 0x800) yield* [0xc0 | (code >> 6), tail(code)];
		else if (code < 0x10000) yield* [0xe0 | (code >> 12), tail(code >> 6), tail(code)];
		else yield* [0xf0 | (code >> 18), tail(code >> 12), tail(code >> 6), tail(code)];
	}
}

function tail(bits: number): number {
	return 0x80 | (bits & 0x3f);
}
