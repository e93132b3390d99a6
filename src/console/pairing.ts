/**
 * Who may come in: a code shown on the laptop lets one device in, once, within ten minutes, and is then replaced. A device
 * that came in holds a ticket (128 random bits, in a cookie) until the console is closed.
 *
 * A code has 8 signs of 31, about 2^39.6 codes; at 5 wrong tries a minute and address, and 30 a minute in all, a stranger
 * who guesses for ten minutes finds it with a chance of 300 in 8.5e11.
 */
import { createHash, timingSafeEqual } from 'node:crypto';

/** No 0, O, 1, I, L: what people mistake when they type what they read. */
const SIGNS = '23456789ABCDEFGHJKMNPQRSTUVWXYZ';
const SIGN_COUNT = 8;
const TICKET_BYTES = 16;
const CODE_LASTS_MS = 600_000;
const WINDOW_MS = 60_000;
const MOST_WRONG_EACH = 5;
const MOST_WRONG_IN_ALL = 30;
/** Codes that were good once, so that "old" can be told from "wrong". */
const REMEMBERED_CODES = 200;

export type Redeemed =
	| { readonly kind: 'paired'; readonly ticket: string }
	| { readonly kind: 'refused'; readonly reason: 'wrong' | 'old' | 'tooMany' };

export type PairingMeans = {
	/** Milliseconds of a clock that only goes forward. */
	readonly nowMs: () => number;
	/** Random bytes that nobody can foresee. */
	readonly randomBytes: (count: number) => Uint8Array;
};

export class Pairing {
	readonly #means: PairingMeans;
	readonly #tickets = new Set<string>();
	readonly #old: string[] = [];
	#code: string;
	#codeSinceMs: number;
	#wrong: { readonly from: string; readonly atMs: number }[] = [];

	constructor(means: PairingMeans) {
		this.#means = means;
		this.#code = this.#makeCode();
		this.#codeSinceMs = means.nowMs();
	}

	/** The code to show now; a new one when the last was used or is ten minutes old. */
	get code(): string {
		if (this.#means.nowMs() - this.#codeSinceMs >= CODE_LASTS_MS) this.#replace();
		return this.#code;
	}

	get pairedCount(): number {
		return this.#tickets.size;
	}

	/** `from`: the address that asks. Small letters and blanks in the code are taken as meant. */
	redeem(asked: string, from: string): Redeemed {
		const nowMs = this.#means.nowMs();
		this.#wrong = this.#wrong.filter(({ atMs }) => nowMs - atMs < WINDOW_MS);
		const wrongFromHere = this.#wrong.filter((wrong) => wrong.from === from).length;
		if (wrongFromHere >= MOST_WRONG_EACH || this.#wrong.length >= MOST_WRONG_IN_ALL)
			return { kind: 'refused', reason: 'tooMany' };
		const typed = asked.replace(/[\s-]/g, '').toUpperCase();
		if (isSame(typed, this.code)) {
			this.#replace();
			const ticket = Buffer.from(this.#means.randomBytes(TICKET_BYTES)).toString('hex');
			this.#tickets.add(ticket);
			return { kind: 'paired', ticket };
		}
		this.#wrong.push({ from, atMs: nowMs });
		return { kind: 'refused', reason: this.#old.includes(typed) ? 'old' : 'wrong' };
	}

	holds(ticket: string | undefined): boolean {
		return ticket !== undefined && this.#tickets.has(ticket);
	}

	#replace(): void {
		this.#old.push(this.#code);
		if (this.#old.length > REMEMBERED_CODES) this.#old.shift();
		this.#code = this.#makeCode();
		this.#codeSinceMs = this.#means.nowMs();
	}

	#makeCode(): string {
		let code = '';
		while (code.length < SIGN_COUNT)
			// Bytes beyond the last whole multiple of 31 are drawn again, so that no sign is likelier than another.
			for (const byte of this.#means.randomBytes(SIGN_COUNT))
				if (byte < 248 && code.length < SIGN_COUNT) code += SIGNS[byte % SIGNS.length];
		return code;
	}
}

/** In a time that does not depend on how much of it is right. */
function isSame(asked: string, code: string): boolean {
	const digest = (text: string) => createHash('sha256').update(text).digest();
	return timingSafeEqual(digest(asked), digest(code));
}
