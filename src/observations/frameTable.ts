/**
 * Columns of frames: eight numbers a frame and no object, so that an eight-hour run stays small.
 * `at(i)` gives one frame as a record for code that would rather read than be fast.
 */
import { FATES, type Fate } from './records.ts';

export type Frame = {
	readonly segment: number;
	readonly frameNumber: number;
	/** When the source meant to show it. */
	readonly dueMs: number;
	/** When the source did show it. */
	readonly shownMs: number;
	readonly fate: Fate;
	readonly decodedMs: number | null;
	/** First appearance at the viewer's measuring point; null exactly when it never appeared in time. */
	readonly seenMs: number | null;
};

const FIRST_CAPACITY = 1024;
/** How a missing instant is kept in a column of numbers; `at` turns it back into null and no other code sees it. */
const NEVER = Number.NEGATIVE_INFINITY;

export class FrameTable {
	#count = 0;
	#segment = new Uint16Array(FIRST_CAPACITY);
	#fate = new Uint8Array(FIRST_CAPACITY);
	#frameNumber = new Uint32Array(FIRST_CAPACITY);
	#dueMs = new Float64Array(FIRST_CAPACITY);
	#shownMs = new Float64Array(FIRST_CAPACITY);
	#decodedMs = new Float64Array(FIRST_CAPACITY);
	#seenMs = new Float64Array(FIRST_CAPACITY);

	get count(): number {
		return this.#count;
	}

	add(frame: Frame): void {
		if (this.#count === this.#fate.length) this.#grow();
		const i = this.#count++;
		this.#segment[i] = frame.segment;
		this.#fate[i] = FATES.indexOf(frame.fate);
		this.#frameNumber[i] = frame.frameNumber;
		this.#dueMs[i] = frame.dueMs;
		this.#shownMs[i] = frame.shownMs;
		this.#decodedMs[i] = frame.decodedMs ?? NEVER;
		this.#seenMs[i] = frame.seenMs ?? NEVER;
	}

	/** One frame as a record; throws `RangeError` outside [0, count). */
	at(i: number): Frame {
		if (!(i >= 0 && i < this.#count)) throw new RangeError(`frame ${i} of ${this.#count}`);
		return {
			segment: this.#segment[i]!,
			frameNumber: this.#frameNumber[i]!,
			dueMs: this.#dueMs[i]!,
			shownMs: this.#shownMs[i]!,
			fate: FATES[this.#fate[i]!]!,
			decodedMs: orNull(this.#decodedMs[i]!),
			seenMs: orNull(this.#seenMs[i]!),
		};
	}

	*[Symbol.iterator](): IterableIterator<Frame> {
		for (let i = 0; i < this.#count; i++) yield this.at(i);
	}

	#grow(): void {
		const capacity = this.#fate.length * 2;
		this.#segment = copyInto(new Uint16Array(capacity), this.#segment);
		this.#fate = copyInto(new Uint8Array(capacity), this.#fate);
		this.#frameNumber = copyInto(new Uint32Array(capacity), this.#frameNumber);
		this.#dueMs = copyInto(new Float64Array(capacity), this.#dueMs);
		this.#shownMs = copyInto(new Float64Array(capacity), this.#shownMs);
		this.#decodedMs = copyInto(new Float64Array(capacity), this.#decodedMs);
		this.#seenMs = copyInto(new Float64Array(capacity), this.#seenMs);
	}
}

function orNull(value: number): number | null {
	return value === NEVER ? null : value;
}

function copyInto<T extends Float64Array | Uint32Array | Uint16Array | Uint8Array>(to: T, from: T): T {
	to.set(from);
	return to;
}
