/**
 * How fast the viewer's clock leaves the reference, and how sure that is.
 *
 * Waiting in queues only ever adds, so the truth shows at the edge of the samples and not in their middle: the slope is
 * that of the lower envelope of delay, each way for itself (after Moon, Skelly and Towsley 1999, from memory; block minima
 * and the median of pairwise slopes here, not their linear programme). What it leaves out: a rate that changes within the
 * run is one rate here, and its wandering is in the doubt.
 */

/** What one ping says of "reference minus viewer" at a viewer's instant. */
export type Sample = {
	readonly viewerMs: number;
	/** At least, at most, and in the middle. */
	readonly lowMs: number;
	readonly highMs: number;
	readonly offsetMs: number;
	readonly roundTripMs: number;
};

/** reference = viewer + offsetMs + driftPpm * 1e-6 * (viewer - anchorMs) */
export type Line = { readonly anchorMs: number; readonly offsetMs: number; readonly driftPpm: number };

/** Two crystals of +-50 ppm each, the far end of what is common (common practice, no source): no drift fitted, this much doubt. */
export const UNFITTED_DOUBT_PPM = 100;
/** How far a crystal's rate may wander within a run; NTP's assumed tolerance PHI (RFC 5905, from memory). */
const WANDER_PPM = 15;
const MAX_BLOCKS = 20;
const MIN_BLOCKS = 4;
/** The envelope is read along the slope found before; twice more changes nothing that could be measured. */
const PASSES = 3;

/**
 * Slope through the envelopes of equal blocks, and how far the true rate may be from it. Too short or too few for better
 * than no fit at all: drift 0 with the doubt of two crystals.
 */
export function fitDrift(samples: readonly Sample[], anchor: Sample): { driftPpm: number; doubtPpm: number } {
	const unfitted = { driftPpm: 0, doubtPpm: UNFITTED_DOUBT_PPM };
	const startMs = Math.min(...samples.map((sample) => sample.viewerMs));
	const blockMs = (Math.max(...samples.map((sample) => sample.viewerMs)) - startMs) / MAX_BLOCKS;
	if (blockMs === 0) return unfitted;
	const blockOf = ({ viewerMs }: Sample) =>
		Math.min(MAX_BLOCKS - 1, Math.floor((viewerMs - startMs) / blockMs));
	const blocks = leastOfEach(samples, blockOf);
	if (blocks.length < MIN_BLOCKS) return unfitted;
	let slope = medianSlope(blocks.map(({ viewerMs, offsetMs }) => [viewerMs, offsetMs]));
	for (let pass = 0; pass < PASSES; pass++) slope += medianSlope(envelopeCentres(samples, blockOf, slope));
	const line = { anchorMs: anchor.viewerMs, offsetMs: anchor.offsetMs, driftPpm: slope * 1e6 };
	const doubtPpm = slopeDoubt(blocks, line) * 1e6 + WANDER_PPM;
	return doubtPpm < UNFITTED_DOUBT_PPM ? { driftPpm: line.driftPpm, doubtPpm } : unfitted;
}

/** The sample of least round trip in each group, in order of viewer time. */
export function leastOfEach(samples: readonly Sample[], groupOf: (sample: Sample) => number): Sample[] {
	const best = new Map<number, Sample>();
	for (const sample of samples) {
		const group = groupOf(sample);
		const kept = best.get(group);
		if (kept === undefined || sample.roundTripMs < kept.roundTripMs) best.set(group, sample);
	}
	return [...best.values()].sort((a, b) => a.viewerMs - b.viewerMs);
}

export function lineAt({ anchorMs, offsetMs, driftPpm }: Line, viewerMs: number): number {
	return offsetMs + driftPpm * 1e-6 * (viewerMs - anchorMs);
}

/** How far the line may be from the truth at a sample. */
export function doubtOf(sample: Sample, line: Line): number {
	const at = lineAt(line, sample.viewerMs);
	return Math.max(0, sample.highMs - at, at - sample.lowMs);
}

/** Middle between the two envelopes of each block, what the slope explains taken off. */
function envelopeCentres(
	samples: readonly Sample[],
	blockOf: (sample: Sample) => number,
	slope: number,
): [viewerMs: number, restMs: number][] {
	const first = samples[0]!;
	const envelopes = new Map<number, { viewerMs: number; count: number; lowMs: number; highMs: number }>();
	for (const sample of samples) {
		const block = blockOf(sample);
		const explained = first.offsetMs + slope * (sample.viewerMs - first.viewerMs);
		const low = sample.lowMs - explained;
		const high = sample.highMs - explained;
		const envelope = envelopes.get(block) ?? { viewerMs: 0, count: 0, lowMs: low, highMs: high };
		envelope.viewerMs += sample.viewerMs;
		envelope.count++;
		envelope.lowMs = Math.max(envelope.lowMs, low);
		envelope.highMs = Math.min(envelope.highMs, high);
		envelopes.set(block, envelope);
	}
	return [...envelopes.values()].map(({ viewerMs, count, lowMs, highMs }) => [
		viewerMs / count,
		(lowMs + highMs) / 2,
	]);
}

/** Theil-Sen: the median of the slopes of all pairs, so that a few bad blocks do not bend it. */
function medianSlope(points: readonly (readonly [number, number])[]): number {
	const slopes: number[] = [];
	for (const [i, [x, y]] of points.entries())
		for (const [laterX, laterY] of points.slice(i + 1)) slopes.push((laterY - y) / (laterX - x));
	slopes.sort((a, b) => a - b);
	const middle = slopes.length >> 1;
	return slopes.length % 2 === 1 ? slopes[middle]! : (slopes[middle - 1]! + slopes[middle]!) / 2;
}

/** Two samples off by at most so much each, so far apart, hold the slope between them; the best pair holds it best. */
function slopeDoubt(blocks: readonly Sample[], line: Line): number {
	let least = Number.POSITIVE_INFINITY;
	for (const [i, a] of blocks.entries())
		for (const b of blocks.slice(i + 1))
			least = Math.min(least, (doubtOf(a, line) + doubtOf(b, line)) / (b.viewerMs - a.viewerMs));
	return least;
}
