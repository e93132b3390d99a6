/**
 * Rows of frames seen, in the order decoded. A row is finished when its code has been read and the display has either
 * drawn it or drawn a newer one instead; finished rows leave from the head, so that order is kept.
 */
export type SeenRow = {
	/** Null where packets bear none. */
	readonly packetNumber: number | null;
	readonly receivedMs: number;
	/** Null where the browser does not say. */
	readonly decodedMs: number | null;
	/** Undefined until read; null when unreadable. */
	code: number | null | undefined;
	/** Undefined until drawn; null when a newer frame was drawn instead. */
	presentedMs: number | null | undefined;
};
export type FinishedRow = [number | null, number | null, number, number | null, number | null];

export class SeenLog {
	readonly #rows: SeenRow[] = [];
	#drawn = 0;
	#decoded = 0;
	#isPaused = false;

	get decodedCount(): number {
		return this.#decoded;
	}

	get drawnCount(): number {
		return this.#drawn;
	}

	add(packetNumber: number | null, receivedMs: number, decodedMs: number | null): SeenRow {
		const row: SeenRow = { packetNumber, receivedMs, decodedMs, code: undefined, presentedMs: undefined };
		if (!this.#isPaused) this.#rows.push(row);
		this.#decoded++;
		return row;
	}

	/** Pictures that the browser counted and the page was never shown: which, is for the bench to tell. */
	addMissed(count: number, noticedMs: number): void {
		const missed = {
			packetNumber: null,
			receivedMs: noticedMs,
			decodedMs: null,
			code: null,
			presentedMs: null,
		};
		if (!this.#isPaused) for (let i = 0; i < count; i++) this.#rows.push({ ...missed });
		this.#decoded += count;
	}

	markDrawn(row: SeenRow, presentedMs: number): void {
		row.presentedMs = presentedMs;
		this.#drawn++;
	}

	/** Finished rows from the head, at most `most`. */
	takeFinished(most: number): FinishedRow[] {
		const open = this.#rows.findIndex(
			({ code, presentedMs }) => code === undefined || presentedMs === undefined,
		);
		const count = Math.min(open < 0 ? this.#rows.length : open, most);
		return this.#rows
			.splice(0, count)
			.map((row) => [
				row.packetNumber,
				row.code ?? null,
				row.receivedMs,
				row.decodedMs,
				row.presentedMs ?? null,
			]);
	}

	/** While paused, frames are shown and not written down. */
	pause(paused: boolean): void {
		this.#isPaused = paused;
	}

	/** Rows that are not finished go, whatever becomes of them. */
	dropOpenRows(): void {
		for (let i = this.#rows.length - 1; i >= 0; i--)
			if (this.#rows[i]?.code === undefined || this.#rows[i]?.presentedMs === undefined)
				this.#rows.splice(i, 1);
	}

	/** At the end: whatever is still open was not drawn and counts as it stands. */
	closeOpenRows(): void {
		for (const row of this.#rows) {
			row.code ??= null;
			row.presentedMs ??= null;
		}
	}
}
