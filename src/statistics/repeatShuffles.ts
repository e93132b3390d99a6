/**
 * How surprising a peak is beside the same search on the same readings cut into pieces of two to four periods and laid in another
 * order: what keeps within a piece (bad spells, bursts, the shape of the noise) stays, what keeps step from piece to piece goes.
 */
import { eventSpectrum } from './eventSpectrum.ts';
import type { Random } from './random.ts';
import type { Candidate } from './repeatFigures.ts';
import { highestPeak } from './repeatSearch.ts';

const SHUFFLES = 16;
/** After so many, a chance this small needs no better figure. */
const FIRST_SHUFFLES = 6;
const BEYOND_DOUBT = 1e-6;
const EULER = 0.5772;

export function chanceOf(surprise: number): number {
	return -Math.expm1(-Math.exp(-surprise));
}

export function shuffledChance(
	{ timesS, scores, peak }: Candidate,
	options: { readonly highestHz: number; readonly ownHz: readonly number[] },
	random: Random,
): number {
	const surprises: number[] = [];
	// Laid anew each time in the same place: of eight hours a copy for each shuffle would be hundreds of megabytes.
	const laid = { timesS: new Float64Array(timesS.length), scores: new Float64Array(timesS.length) };
	let chance = 1;
	for (let i = 0; i < SHUFFLES && !(i >= FIRST_SHUFFLES && chance < BEYOND_DOUBT); i++) {
		shufflePieces({ timesS, scores }, laid, { periodS: 1 / peak.hz, random });
		const found = highestPeak(eventSpectrum(laid.timesS, laid.scores, options));
		if (found !== null) surprises.push(found.surprise);
		if (surprises.length > 1) chance = gumbelChance(peak.surprise, surprises);
	}
	return Math.max(chanceOf(peak.surprise), chance);
}

/** A Gumbel law of scale 1 at 0 is what the gamma law says; shuffles may only make it wider and further up. */
function gumbelChance(surprise: number, among: readonly number[]): number {
	const mean = among.reduce((sum, x) => sum + x, 0) / among.length;
	const variance = among.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (among.length - 1);
	const scale = Math.max(1, (Math.sqrt(variance) * Math.sqrt(6)) / Math.PI);
	const place = Math.max(0, mean - EULER * scale);
	return chanceOf((surprise - place) / scale);
}

type Readings = Pick<Candidate, 'timesS' | 'scores'>;

/** Fills `laid`, which is as long. */
function shufflePieces(
	{ timesS, scores }: Readings,
	laid: Readings,
	{ periodS, random }: { readonly periodS: number; readonly random: Random },
): void {
	const firstS = timesS[0]!;
	const spanS = timesS[timesS.length - 1]! - firstS;
	// A fast period cuts eight hours into a million pieces: columns, no objects.
	const fromsS = new Float64Array(Math.ceil(spanS / (2 * periodS)) + 2);
	const lengthsS = new Float64Array(fromsS.length);
	let count = 0;
	for (let fromS = 0; fromS < spanS; count++) {
		fromsS[count] = fromS;
		lengthsS[count] = Math.min(spanS - fromS, periodS * (2 + 2 * random.next()));
		fromS += lengthsS[count]!;
	}
	const order = new Uint32Array(count).map((_, i) => i);
	for (let i = count - 1; i > 0; i--) {
		const j = random.integer(i + 1);
		[order[i], order[j]] = [order[j]!, order[i]!];
	}
	let [next, atS] = [0, 0];
	for (const piece of order) {
		const [fromS, lengthS] = [fromsS[piece]!, lengthsS[piece]!];
		const end = fromS + lengthS >= spanS ? timesS.length : lowerBound(timesS, firstS + fromS + lengthS);
		for (let i = lowerBound(timesS, firstS + fromS); i < end; i++, next++) {
			laid.timesS[next] = atS + timesS[i]! - firstS - fromS;
			laid.scores[next] = scores[i]!;
		}
		atS += lengthS;
	}
}

/** Place of the first reading at or after an instant. */
function lowerBound(timesS: Float64Array, atS: number): number {
	let [low, high] = [0, timesS.length];
	while (low < high) {
		const middle = (low + high) >> 1;
		if (timesS[middle]! < atS) low = middle + 1;
		else high = middle;
	}
	return low;
}
