/**
 * Every picture of an invented scope, with when it was taken and when, if ever, its light came on the tablet: the truth that
 * an optical reading is held against. Content: the middle of exposure. Shown: the centroid of the light's change, that is, the
 * tablet's refresh plus the response time of its crystal.
 */
import { createRandom, type Random } from '../statistics/random.ts';
import type { OpticalSpec } from './opticalSpec.ts';

export type TruePicture = {
	/** Slot of the scope's cadence, from 0. */
	readonly slot: number;
	readonly contentMs: number;
	/** The tablet's refresh that showed it; null: never shown. */
	readonly refreshMs: number | null;
};

/** Pictures from one second before the clip to its end, in order. */
export function truePictures(spec: OpticalSpec): readonly TruePicture[] {
	const random = createRandom(spec.seed + 7);
	const taken = takePictures(spec, random);
	return showPictures(spec, taken, random);
}

type Taken = { readonly slot: number; readonly contentMs: number; readonly readyMs: number | null };

/** Before the clip: long enough that the tablet shows something at its beginning. */
const LEAD_MS = 1000;

function takePictures({ scope, link, durationMs }: OpticalSpec, random: Random): Taken[] {
	const taken: Taken[] = [];
	let readyMs = Number.NEGATIVE_INFINITY;
	for (let slot = 0; ; slot++) {
		const dueMs = scope.phaseMs + slot * scope.periodMs - LEAD_MS - link.delayMs;
		if (dueMs > durationMs) return taken;
		const contentMs = dueMs + scope.jitterMs * random.normal();
		const late = random.next() < link.lateRatio ? link.lateMs : 0;
		const arrivesMs = contentMs + link.delayMs + link.jitterMs * Math.abs(random.normal()) + late;
		const dropped = random.next() < link.dropRatio;
		const frozen = link.freezes.some(
			({ fromMs, forMs }) => arrivesMs >= fromMs && arrivesMs < fromMs + forMs,
		);
		if (dropped || frozen) {
			taken.push({ slot, contentMs, readyMs: null });
			continue;
		}
		// The app shows pictures in order.
		readyMs = Math.max(readyMs, arrivesMs);
		taken.push({ slot, contentMs, readyMs });
	}
}

function showPictures(
	{ tablet, durationMs }: OpticalSpec,
	taken: readonly Taken[],
	random: Random,
): TruePicture[] {
	const shownAt = new Map<number, number>();
	let next = 0;
	const firstMs = tablet.phaseMs - Math.ceil(LEAD_MS / tablet.periodMs) * tablet.periodMs;
	for (let refreshMs = firstMs; refreshMs < durationMs; refreshMs += tablet.periodMs) {
		if (random.next() < tablet.missedRatio) continue;
		let newest: number | null = null;
		for (; next < taken.length; next++) {
			const { readyMs, slot } = taken[next]!;
			if (readyMs === null) continue;
			if (readyMs > refreshMs) break;
			newest = slot;
		}
		if (newest !== null) shownAt.set(newest, refreshMs);
	}
	return taken.map(({ slot, contentMs }) => ({ slot, contentMs, refreshMs: shownAt.get(slot) ?? null }));
}
