/**
 * What is told while a run goes on: ages and delays of the last ten seconds, losses of the run so far, this computer's own
 * load. By the offset of the quickest ping so far, so good to a few milliseconds: for the eye, never for the verdict, which
 * is made from the records afterwards by a fitted clock.
 */
import { readPing } from '../observations/clock.ts';
import { FATES, type ObservationRecord, type PresentationRow } from '../observations/records.ts';
import type { Live } from '../protocol/console.ts';
import { CurveBuilder, levelQuantile, meanLevel } from '../statistics/levelCurve.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';

const WINDOW_MS = 10_000;

/** Instants on the viewer's and the source's clock. */
type Seen = { readonly seenMs: number; readonly shownMs: number };
type Load = Extract<ObservationRecord, { kind: 'harness' }>;

export class LiveFigures {
	#seen: Seen[] = [];
	#counts = FATES.map(() => 0);
	#leastRoundTripMs = Number.POSITIVE_INFINITY;
	#aheadMs = 0;
	#watching = 0;
	#load: Load | null = null;

	record(record: ObservationRecord): void {
		if (record.kind === 'presentations') this.#take(record.rows);
		else if (record.kind === 'harness') this.#load = record;
		else if (record.kind === 'pings') for (const ping of record.samples) this.#ping(ping);
		else if (record.kind === 'event' && record.code === 'watching')
			this.#watching = Number.parseInt(record.detail ?? '0', 10) || 0;
		else if (record.kind === 'segment') {
			this.#seen = [];
			this.#leastRoundTripMs = Number.POSITIVE_INFINITY;
		}
	}

	snapshot(): Live {
		const delays = this.#seen.map(({ seenMs, shownMs }) => seenMs - this.#aheadMs - shownMs);
		const sorted = delays.length > 1 ? sortSamples(delays) : null;
		return {
			...this.#ages(),
			delayMedianMs: sorted === null ? null : quantileSorted(sorted, 0.5),
			unevennessMs: sorted === null ? null : quantileSorted(sorted, 0.95) - quantileSorted(sorted, 0.05),
			settledCount: this.#counts.reduce((sum, count) => sum + count, 0),
			lostCount: this.#count('lost'),
			notDrawnCount: this.#count('notDrawn'),
			watchingCount: this.#watching,
			busyRatio: this.#load?.busyRatio ?? null,
			loopDelayMs: this.#load?.loopDelayMs ?? null,
			encodeMs: this.#load?.encodeMs ?? null,
		};
	}

	#ages(): Pick<Live, 'ageMeanMs' | 'ageP95Ms' | 'longestGapMs'> {
		const builder = new CurveBuilder(1);
		let longestGapMs = 0;
		for (const [i, { seenMs, shownMs }] of this.#seen.entries()) {
			const next = this.#seen[i + 1];
			if (next === undefined) continue;
			const lengthMs = Math.max(0, next.seenMs - seenMs);
			longestGapMs = Math.max(longestGapMs, lengthMs);
			builder.add(lengthMs, seenMs - this.#aheadMs - shownMs);
		}
		if (longestGapMs === 0) return { ageMeanMs: null, ageP95Ms: null, longestGapMs: null };
		const curve = builder.finish();
		return { ageMeanMs: meanLevel(curve), ageP95Ms: levelQuantile(curve, 0.95), longestGapMs };
	}

	#take(rows: readonly PresentationRow[]): void {
		for (const [, , shownMs, fate, , seenMs] of rows) {
			this.#counts[fate] = (this.#counts[fate] ?? 0) + 1;
			if (seenMs !== null) this.#seen.push({ seenMs, shownMs });
		}
		const newestMs = this.#seen.at(-1)?.seenMs ?? 0;
		this.#seen = this.#seen.filter(({ seenMs }) => newestMs - seenMs < WINDOW_MS);
	}

	#ping(ping: readonly [number, number, number, number]): void {
		const { roundTripMs, aheadMs } = readPing(ping);
		if (roundTripMs >= this.#leastRoundTripMs) return;
		this.#leastRoundTripMs = roundTripMs;
		this.#aheadMs = aheadMs;
	}

	#count(fate: (typeof FATES)[number]): number {
		return this.#counts[FATES.indexOf(fate)] ?? 0;
	}
}
