/**
 * A run in which others came to look on and left again: how old the picture was, and how late, by how many of them there were.
 * They share air and sender; they are in no figure but by that. The stretches follow one another in time, so that a change of the
 * air falls on one number of them alone: read them beside each other, not as proof of a cause.
 */
import type { Run } from '../observations/run.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { gatherPictures } from './presentedPictures.ts';

export type CompanyRow = {
	/** Besides the viewer that is measured. */
	readonly others: number;
	readonly seconds: number;
	readonly overLimitRatio: number;
	readonly ageMeanMs: number;
	readonly delayMedianMs: number;
};

/** Shorter stretches tell nothing of their own. */
const LEAST_MS = 5000;

type Stretch = { readonly others: number; readonly fromMs: number; readonly untilMs: number };
type Sum = { ms: number; overMs: number; areaMs2: number; readonly delays: number[] };

/** By number of others, fewest first; empty where nobody looked on. */
export function measureCompany(run: Run, ageLimitMs: number): CompanyRow[] {
	const stretches = stretchesOf(run);
	if (stretches.every(({ others }) => others === 0)) return [];
	const sums = new Map<number, Sum>();
	for (const { seenMs, shownMs, fromMs, endMs } of gatherPictures(run)) {
		for (const stretch of stretches) {
			const sum = sums.get(stretch.others) ?? { ms: 0, overMs: 0, areaMs2: 0, delays: [] };
			sums.set(stretch.others, sum);
			const [from, until] = [Math.max(fromMs, stretch.fromMs), Math.min(endMs, stretch.untilMs)];
			for (let i = 0; i < seenMs.length; i++) {
				const [begins, ends] = [Math.max(seenMs[i]!, from), Math.min(seenMs[i + 1] ?? endMs, until)];
				if (ends <= begins) continue;
				sum.ms += ends - begins;
				sum.areaMs2 += (ends - begins) * ((begins + ends) / 2 - shownMs[i]!);
				sum.overMs += Math.max(0, ends - Math.max(begins, shownMs[i]! + ageLimitMs));
				if (seenMs[i]! >= from) sum.delays.push(seenMs[i]! - shownMs[i]!);
			}
		}
	}
	return [...sums]
		.filter(([, { ms, delays }]) => ms >= LEAST_MS && delays.length > 0)
		.sort(([a], [b]) => a - b)
		.map(([others, { ms, overMs, areaMs2, delays }]) => ({
			others,
			seconds: ms / 1000,
			overLimitRatio: overMs / ms,
			ageMeanMs: areaMs2 / ms,
			delayMedianMs: quantileSorted(sortSamples(delays), 0.5),
		}));
}

/** By the bench's own words whenever one came or left. */
function stretchesOf({ events }: Run): Stretch[] {
	const changes = events
		.filter(({ code }) => code === 'watching')
		.map(({ atMs, detail }) => ({ atMs, others: Number.parseInt(detail ?? '', 10) }))
		.filter(({ others }) => others >= 0);
	const all = [{ atMs: Number.NEGATIVE_INFINITY, others: 0 }, ...changes];
	return all.map(({ atMs, others }, i) => ({
		others,
		fromMs: atMs,
		untilMs: all[i + 1]?.atMs ?? Number.POSITIVE_INFINITY,
	}));
}
