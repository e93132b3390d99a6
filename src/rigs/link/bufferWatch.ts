/**
 * Whether a WebRTC viewer's jitter buffer has come to rest after a connection began. A first big picture makes it grow, and
 * it shrinks slowly; measured before that, the beginning would be the result.
 *
 * Only the first segment of a run waits for this, and what was waited for is told. What the buffer does later, after an
 * outage or a return, is the link's own behaviour and counts.
 */
import type { StreamCountsRow } from '../../observations/records.ts';

/** Two neighbouring stretches of this length are compared. */
const STRETCH_MS = 3000;
/** At rest: their means differ by no more than this, or this share of the later one. */
const REST_MS = 3;
const REST_SHARE = 0.05;
/** It is not waited for longer: then the run begins, and says that the buffer was not at rest. */
const PATIENCE_MS = 40_000;

export type BufferState = {
	readonly kind: 'atRest' | 'restless' | 'unknown';
	/** From the first row to this decision. */
	readonly waitedMs: number;
	/** Mean of the first stretch and of the last; null where pictures did not come. */
	readonly firstMs: number | null;
	readonly lastMs: number | null;
};

export class BufferWatch {
	#rows: StreamCountsRow[] = [];
	#state: BufferState | null = null;

	/** Rows in order, on the viewer's clock. */
	add(rows: readonly StreamCountsRow[]): void {
		if (this.#state !== null) return;
		for (const row of rows) {
			const before = this.#rows.at(-1);
			// A new connection counts from 0 again.
			if (before !== undefined && (row[6] ?? 0) < (before[6] ?? 0)) this.#rows = [];
			this.#rows.push(row);
		}
		this.#state = this.#judge();
	}

	/** Null while it is to be waited for. */
	get state(): BufferState | null {
		return this.#state;
	}

	/** Mean of the last stretch, decided or not; null where pictures did not come. */
	get heldMs(): number | null {
		const last = this.#rows.at(-1);
		return last === undefined ? null : this.#meanBetween(last[0] - STRETCH_MS, last[0]);
	}

	#judge(): BufferState | null {
		const first = this.#rows[0];
		const last = this.#rows.at(-1);
		if (first === undefined || last === undefined) return null;
		const waitedMs = last[0] - first[0];
		const tooLong = waitedMs > PATIENCE_MS;
		if (waitedMs < 2 * STRETCH_MS) return null;
		const nowMs = this.#meanBetween(last[0] - STRETCH_MS, last[0]);
		const beforeMs = this.#meanBetween(last[0] - 2 * STRETCH_MS, last[0] - STRETCH_MS);
		const about = { waitedMs, firstMs: this.#meanBetween(first[0], first[0] + STRETCH_MS), lastMs: nowMs };
		if (nowMs === null || beforeMs === null) return tooLong ? { kind: 'unknown', ...about } : null;
		if (Math.abs(nowMs - beforeMs) <= Math.max(REST_MS, REST_SHARE * nowMs))
			return { kind: 'atRest', ...about };
		return tooLong ? { kind: 'restless', ...about } : null;
	}

	/** Mean time in the buffer of the pictures that left it within the stretch. */
	#meanBetween(fromMs: number, toMs: number): number | null {
		const within = this.#rows.filter(([atMs]) => atMs >= fromMs && atMs <= toMs);
		const [, , , , , fromTotal, fromCount] = within[0] ?? [];
		const [, , , , , toTotal, toCount] = within.at(-1) ?? [];
		if (fromTotal == null || fromCount == null || toTotal == null || toCount == null) return null;
		return toCount > fromCount ? (toTotal - fromTotal) / (toCount - fromCount) : null;
	}
}

/** In words, for the record of the run. */
export function tellBuffer({ kind, waitedMs, firstMs, lastMs }: BufferState): string {
	const waited = `${(waitedMs / 1000).toFixed(1)} s waited before the first picture that counts`;
	if (kind === 'unknown') return `${waited}: the viewer does not tell its jitter buffer`;
	const from = firstMs === null ? '' : ` from ${Math.round(firstMs)}`;
	const to = lastMs === null ? '' : ` to ${Math.round(lastMs)} ms`;
	return `${waited}: jitter buffer${from}${to}${kind === 'restless' ? ', not at rest' : ''}`;
}
