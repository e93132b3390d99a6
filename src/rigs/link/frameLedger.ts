/**
 * The ledger of one segment: every frame that the source showed, joined with what the viewer reported, each frame in
 * exactly one class. `presented`: seen in time. `notDrawn`: decoded, replaced before the display drew it. `unreadable`:
 * arrived, its code could not be read. `overtaken`: arrived after a newer one was seen. `late`: seen after `lostAfterMs`.
 * `lost`: not reported within `lostAfterMs` and a little grace for the report itself.
 *
 * A picture is the frame that its code says, whatever number its packet bore, with one exception. Where packets are missing
 * since the last key picture, the decoder adds changes to the wrong picture; the code's check is linear, so that what comes
 * out can be the whole and valid code of a frame that never arrived. There a code that is not its packet's is unreadable.
 *
 * Instants of the viewer stay on the viewer's
 * clock; only the question "too late?" needs both clocks, and for it the offset known so far is good enough.
 */
import { FATES, type Fate, type PresentationRow } from '../../observations/records.ts';
import type { FromViewer } from '../../protocol/control.ts';

/** [number in the packet or null where packets bear none, number read or null, receivedMs, decodedMs or null, presentedMs or null], viewer's clock. */
export type SeenRow = Extract<FromViewer, { type: 'seen' }>['rows'][number];

type Sent = {
	readonly frameNumber: number;
	readonly dueMs: number;
	readonly shownMs: number;
	/** Its packet needs no picture before it. */
	readonly key: boolean;
};

/** A picture that came and whose number is not known: unreadable, or counted by the browser and never shown to the page. */
type Unread = { readonly fate: 'unreadable' | 'notDrawn'; readonly decodedMs: number | null };

/** Something that is no fate of a frame but must not pass unsaid. `atMs` is on the viewer's clock. */
export type LedgerNote = {
	readonly code:
		| 'repeated'
		| 'outOfOrder'
		| 'codeMismatch'
		| 'foreignCode'
		| 'unreadablePicture'
		| 'seenAfterLost'
		| 'reportedUnsent';
	readonly atMs: number;
	readonly frameNumber: number | null;
	readonly detail: string | null;
};

export type LedgerOptions = {
	readonly lostAfterMs: number;
	readonly viewerPoint: 'presented' | 'decoded';
	/** How far the viewer's clock is ahead of the reference, as known now. */
	readonly aheadMs: () => number;
};

/** A report comes at most this much after what it tells of; only then is a silent frame lost. */
const REPORT_GRACE_MS = 1500;
/** A report may overtake the news of its frame's sending by this much, between two processes. */
const NEWS_WITHIN_MS = 1000;
/** A picture of a frame that is to be sent only after so many more: no news comes so late, the code is not one of ours. */
const MOST_AHEAD = 256;
/** Lost frames that are remembered, so that one that comes after all is told from a repeated one. */
const REMEMBERED_LOST = 4096;

export class FrameLedger {
	readonly #options: LedgerOptions;
	/** In order of sending. */
	readonly #pending = new Map<number, Sent>();
	readonly #lost = new Set<number>();
	#early: { readonly row: SeenRow; readonly heardMs: number }[] = [];
	#rows: PresentationRow[] = [];
	#notes: LedgerNote[] = [];
	#firstSent = Number.POSITIVE_INFINITY;
	#lastSent = -1;
	#newestSeen = -1;
	#newestDecoded = -1;
	/** Pictures without a packet's number whose code was not read, since the last one whose code was. */
	#unread: Unread[] = [];
	#lastPacket: number | null = null;
	/** Packets are missing since the last key picture. */
	#isChainBroken = false;
	/** Frames shown from here on are not the ledger's. */
	#untilMs = Number.POSITIVE_INFINITY;
	#isClosed = false;
	#settledCount = 0;

	constructor(options: LedgerOptions) {
		this.#options = options;
	}

	get pendingCount(): number {
		return this.#pending.size;
	}

	/** Frames that have their class. */
	get settledCount(): number {
		return this.#settledCount;
	}

	/** Frames in the order of sending. */
	sent({ frameNumber, dueMs, shownMs, key }: Sent): void {
		if (this.#isClosed || shownMs >= this.#untilMs) return;
		this.#firstSent = Math.min(this.#firstSent, frameNumber);
		this.#lastSent = frameNumber;
		this.#pending.set(frameNumber, { frameNumber, dueMs, shownMs, key });
		const early = this.#early;
		this.#early = [];
		for (const [i, { row }] of early.entries()) {
			const number = row[0] ?? row[1];
			if (number !== null && number > frameNumber) {
				this.#early = early.slice(i);
				return;
			}
			this.#join(row);
		}
	}

	/** Rows in the order seen; `heardMs`: when the report came, reference clock. */
	seen(rows: readonly SeenRow[], heardMs: number): void {
		for (const row of rows) {
			const number = row[0] ?? row[1];
			const isAhead = number !== null && number > this.#lastSent && !this.#isFarAhead(row);
			// What follows an early one waits behind it, so that the order seen stays the order joined.
			const waits = isAhead || (row[0] === null && this.#early.length > 0);
			if (!this.#isClosed && waits) this.#early.push({ row, heardMs });
			else this.#join(row);
		}
	}

	/** Declares lost what has been silent too long. */
	expire(nowMs: number): void {
		const { lostAfterMs } = this.#options;
		for (const frame of this.#pending.values()) {
			if (frame.shownMs + lostAfterMs + REPORT_GRACE_MS > nowMs) break;
			this.#settleLost(frame);
		}
		while (this.#early[0] !== undefined && this.#early[0].heardMs + NEWS_WITHIN_MS < nowMs) {
			const { row } = this.#early.shift()!;
			if (this.#untilMs === Number.POSITIVE_INFINITY)
				this.#note('reportedUnsent', noticedMs(row), row[0] ?? row[1]);
		}
	}

	/** Takes no frames shown at `untilMs` or later; the others may still be told of, and find their class. */
	stopAccepting(untilMs: number): void {
		this.#untilMs = untilMs;
		for (const frame of this.#pending.values())
			if (frame.shownMs >= untilMs) this.#pending.delete(frame.frameNumber);
	}

	/**
	 * The end. What is still open is `lost`, or was `unobserved`: then frames newer than the newest seen leave the ledger,
	 * because nobody looked, and the others are lost.
	 */
	close(open: 'lost' | 'unobserved'): void {
		this.#isClosed = true;
		for (const frame of this.#pending.values()) {
			if (open === 'unobserved' && frame.frameNumber > this.#newestSeen)
				this.#pending.delete(frame.frameNumber);
			else this.#settleLost(frame);
		}
	}

	/** Rows settled since the last call; presented ones in the order seen. */
	takeRows(): PresentationRow[] {
		const rows = this.#rows;
		this.#rows = [];
		return rows;
	}

	takeNotes(): LedgerNote[] {
		const notes = this.#notes;
		this.#notes = [];
		return notes;
	}

	#join(row: SeenRow): void {
		if (row[0] === null) this.#joinBare(row);
		else this.#joinPacket(row[0], row);
	}

	#joinPacket(packetNumber: number, row: SeenRow): void {
		const [, codeNumber, , decodedMs] = row;
		// From before this segment, or from after its end.
		if (packetNumber < this.#firstSent || packetNumber > this.#lastSent) return;
		const packetFrame = this.#pending.get(packetNumber);
		this.#follow(packetNumber, packetFrame);
		const isForeign = codeNumber !== null && codeNumber !== packetNumber;
		if (isForeign)
			this.#note('codeMismatch', noticedMs(row), codeNumber, `in the packet of frame ${packetNumber}`);
		const isRead = codeNumber !== null && !(isForeign && this.#isChainBroken);
		const wasShown = isRead && codeNumber >= this.#firstSent && codeNumber <= this.#lastSent;
		const frame = wasShown ? this.#pending.get(codeNumber) : undefined;
		if (frame !== undefined) this.#settleSeen(frame, row);
		else if (wasShown)
			this.#note(this.#lost.has(codeNumber) ? 'seenAfterLost' : 'repeated', noticedMs(row), codeNumber);
		else {
			if (isRead) this.#note('foreignCode', noticedMs(row), codeNumber, 'not shown in this segment');
			if (packetFrame !== undefined) this.#settle(packetFrame, 'unreadable', { decodedMs, seenMs: null });
		}
	}

	/**
	 * A picture that came without a packet's number, as WebRTC gives it out: whole pictures in order, so that its code alone
	 * says which it is. Those that cannot be read, and those that the page was never shown, are of the frames between their readable
	 * neighbours, as far as these are enough; which of them, where more are missing, is not known, and the last are taken: none was seen.
	 */
	#joinBare(row: SeenRow): void {
		const [, codeNumber, , decodedMs, presentedMs] = row;
		if (codeNumber === null) {
			const wasInHand = decodedMs !== null || presentedMs !== null;
			this.#unread.push({ fate: wasInHand ? 'unreadable' : 'notDrawn', decodedMs });
			if (wasInHand) this.#note('unreadablePicture', noticedMs(row), null);
		} else if (codeNumber < this.#firstSent) this.#unread = [];
		else if (codeNumber > this.#lastSent)
			this.#note('foreignCode', noticedMs(row), codeNumber, 'not shown in this segment');
		else this.#joinRead(codeNumber, row);
	}

	#joinRead(codeNumber: number, row: SeenRow): void {
		const frame = this.#pending.get(codeNumber);
		if (frame === undefined) {
			this.#note(this.#lost.has(codeNumber) ? 'seenAfterLost' : 'repeated', noticedMs(row), codeNumber);
			return;
		}
		if (codeNumber > this.#newestDecoded) this.#placeUnread(codeNumber);
		this.#newestDecoded = Math.max(this.#newestDecoded, codeNumber);
		this.#settleSeen(frame, row);
	}

	#placeUnread(beforeNumber: number): void {
		const between: Sent[] = [];
		for (const frame of this.#pending.values()) {
			if (frame.frameNumber >= beforeNumber) break;
			if (frame.frameNumber > this.#newestDecoded) between.push(frame);
		}
		const unread = this.#unread;
		this.#unread = [];
		const count = Math.min(between.length, unread.length);
		for (let i = 1; i <= count; i++) {
			const [came, frame] = [unread.at(-i), between.at(-i)];
			if (came !== undefined && frame !== undefined)
				this.#settle(frame, came.fate, { decodedMs: came.decodedMs, seenMs: null });
		}
	}

	#isFarAhead([packetNumber, codeNumber]: SeenRow): boolean {
		return packetNumber === null && codeNumber !== null && codeNumber > this.#lastSent + MOST_AHEAD;
	}

	/** Whether all that this packet's picture is made of has arrived. */
	#follow(packetNumber: number, frame: Sent | undefined): void {
		if (this.#lastPacket !== null && packetNumber !== this.#lastPacket + 1) this.#isChainBroken = true;
		if (frame?.key) this.#isChainBroken = false;
		this.#lastPacket = packetNumber;
	}

	#settleSeen(frame: Sent, row: SeenRow): void {
		const [, , , decodedMs, presentedMs] = row;
		const seenMs = this.#options.viewerPoint === 'decoded' ? decodedMs : presentedMs;
		const fate = this.#fateOf(frame, seenMs);
		if (fate === 'overtaken')
			this.#note('outOfOrder', noticedMs(row), frame.frameNumber, `after frame ${this.#newestSeen}`);
		else if (fate !== 'notDrawn') this.#newestSeen = frame.frameNumber;
		this.#settle(frame, fate, { decodedMs, seenMs: fate === 'presented' ? seenMs : null });
	}

	#fateOf({ frameNumber, shownMs }: Sent, seenMs: number | null): Fate {
		if (frameNumber < this.#newestSeen) return 'overtaken';
		if (seenMs === null) return 'notDrawn';
		return seenMs - this.#options.aheadMs() - shownMs > this.#options.lostAfterMs ? 'late' : 'presented';
	}

	#settleLost(frame: Sent): void {
		this.#lost.add(frame.frameNumber);
		if (this.#lost.size > REMEMBERED_LOST) this.#lost.delete(this.#lost.values().next().value ?? -1);
		this.#settle(frame, 'lost', { decodedMs: null, seenMs: null });
	}

	#settle(
		frame: Sent,
		fate: Fate,
		{ decodedMs, seenMs }: { decodedMs: number | null; seenMs: number | null },
	): void {
		const { frameNumber, dueMs, shownMs } = frame;
		this.#pending.delete(frameNumber);
		this.#settledCount++;
		this.#rows.push([frameNumber, dueMs, shownMs, FATES.indexOf(fate), decodedMs, seenMs]);
	}

	#note(
		code: LedgerNote['code'],
		atMs: number,
		frameNumber: number | null,
		detail: string | null = null,
	): void {
		this.#notes.push({ code, atMs, frameNumber, detail });
	}
}

/** When the page noticed it: some browsers do not say when a picture was decoded. */
const noticedMs = ([, , receivedMs, decodedMs]: SeenRow): number => decodedMs ?? receivedMs;
