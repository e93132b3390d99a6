/**
 * How many independent pictures a run of pictures is worth for its loss ratio, when losses come in runs and runs in
 * clusters. The lesser of two: the count over the length-weighted run, sum l^2 / sum l, which for a simple Gilbert chain with
 * rare losses is its exact loss of information, (1 + rho) / (1 - rho) (derived: the length-weighted geometric run is
 * (2 - r) / r long); and e (1 - e) over the largest variance of the ratio over batches of pictures, which sees
 * clusters of runs. Where more than half is lost the runs of arrivals count, the rarer state.
 */
import { batchVariance } from './batchMeans.ts';

/** The shortest batch; the longer ones are 2, 5 and 10 of it. About a second of pictures. */
const BATCH_PICTURES = 30;

/** `lostFlags`: one entry a picture in order of sending, true or 1 where it was lost. At least 1. */
export function effectiveLossSize(lostFlags: ArrayLike<boolean | number>): number {
	const count = lostFlags.length;
	if (count === 0) throw new RangeError('no pictures, no effective size');
	let lost = 0;
	for (let i = 0; i < count; i++) if (lostFlags[i]) lost++;
	if (lost === 0 || lost === count) return count;
	const byRuns = count / weightedRun(lostFlags, lost <= count / 2);
	const ratio = lost / count;
	const { largest } = batchVariance(batchRatios(lostFlags), {
		starts: Uint32Array.of(0, Math.floor(count / BATCH_PICTURES)),
		count: Math.floor(count / BATCH_PICTURES),
	});
	const byBatches = largest !== null && largest > 0 ? (ratio * (1 - ratio)) / largest : count;
	return Math.max(1, Math.min(byRuns, byBatches));
}

/** Sum of squares over sum of the lengths of runs of one state. */
function weightedRun(lostFlags: ArrayLike<boolean | number>, ofLost: boolean): number {
	let sum = 0;
	let squares = 0;
	let length = 0;
	for (let i = 0; i <= lostFlags.length; i++) {
		if (i < lostFlags.length && Boolean(lostFlags[i]) === ofLost) {
			length++;
			continue;
		}
		sum += length;
		squares += length * length;
		length = 0;
	}
	return squares / sum;
}

function batchRatios(lostFlags: ArrayLike<boolean | number>): Float64Array {
	const ratios = new Float64Array(Math.floor(lostFlags.length / BATCH_PICTURES));
	for (let i = 0; i < ratios.length * BATCH_PICTURES; i++)
		if (lostFlags[i]) ratios[Math.floor(i / BATCH_PICTURES)]! += 1 / BATCH_PICTURES;
	return ratios;
}
