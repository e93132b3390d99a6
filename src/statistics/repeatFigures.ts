/** The figures of a line that was found: period and its doubt, strength, and where in the period it is bad. */
import { type EventSpectrum, ownHalfWidthHz } from './eventSpectrum.ts';
import { lombScargle } from './lombScargle.ts';
import type { Peak } from './repeatSearch.ts';

export type Repeat = {
	readonly periodS: number;
	/** Expanded uncertainty, k = 2. */
	readonly periodUncertaintyS: number;
	/** Chance of as clear a period, anywhere in the range looked at, where nothing repeats. */
	readonly falseAlarmRatio: number;
	/** Share of all unevenness of delay and loss (as trouble scores) that keeps this beat. */
	readonly strengthRatio: number;
	/** The period wanders: its line is wider than a steady one's. */
	readonly wanders: boolean;
	/** Worst tenth of the period against the rest: share of readings in it that are among the worst tenth. */
	readonly worstTenth: { readonly insideRatio: number; readonly outsideRatio: number } | null;
};

export type Candidate = { readonly timesS: Float64Array; readonly scores: Float64Array; readonly peak: Peak };

/** Stretches whose phases tell how far a period wanders. */
const STRETCHES = 8;
/** Of 1 / span: how far beyond the gap a flank was found. */
const FLANK = 0.75;
const PHASES = 10;

export function describeRepeat(
	candidate: Candidate,
	spectrum: EventSpectrum,
	falseAlarmRatio: number,
): Repeat {
	const { peak } = candidate;
	const { spanS, power, background } = spectrum;
	const wanders = peak.width > 1;
	const hz = wanders ? centroid(spectrum, peak) : refine(candidate, spanS);
	let [information, explained, total] = [0, 0, 0];
	for (const score of candidate.scores) total += (score - 1) ** 2;
	for (let h = 1; h <= Math.max(peak.harmonics, 1); h++) {
		const k = Math.round(2 * spanS * hz * h);
		if (k + peak.width >= power.length) break;
		const ratio = power[k]! / background[k]!;
		information += h * h * Math.max(0, ratio - 1);
		for (let i = k - peak.width + 1; i < k + peak.width; i += 2)
			explained += (2 * Math.max(0, power[i]! - background[i]!)) / candidate.scores.length;
	}
	// A line of least squares: sqrt(6) / (pi T) times noise over amplitude (textbook, from memory), harmonics by h^2.
	const steadyHz = 0.39 / (spanS * Math.sqrt(Math.max(1, information)));
	const widthHz = wanders ? peak.width / (spanS * Math.sqrt(12)) : 0;
	const uncertaintyHz = Math.max(
		steadyHz,
		widthHz,
		wanderHz(candidate, hz, spanS),
		besideOwnHz(spectrum, hz),
	);
	return {
		periodS: 1 / hz,
		periodUncertaintyS: (2 * uncertaintyHz) / hz ** 2,
		falseAlarmRatio,
		strengthRatio: Math.min(1, explained / total),
		wanders,
		worstTenth: wanders ? null : worstTenth(candidate, hz),
	};
}

/**
 * A line next to a frequency of our own may be the flank of one that lies in what was put aside there: anywhere across that gap.
 * Half of it, since what is told is twice this.
 */
function besideOwnHz({ spanS, own }: EventSpectrum, hz: number): number {
	const k = Math.round(2 * spanS * hz);
	const isBeside = [-2, -1, 0, 1, 2].some((step) => own[k + step] === 1);
	return isBeside ? ownHalfWidthHz(spanS) + FLANK / spanS : 0;
}

/** Finest place of a steady line: the frequency whose multiples together explain most, within half a grid step. */
function refine({ timesS, scores, peak }: Candidate, spanS: number): number {
	const power = (hz: number): number => {
		let sum = 0;
		for (let h = 1; h <= peak.harmonics; h++) sum += lombScargle(timesS, scores, h * hz);
		return sum;
	};
	const stepHz = 1 / (2 * spanS * peak.harmonics);
	let best = { hz: peak.hz, power: power(peak.hz) };
	for (let reachHz = stepHz; reachHz > stepHz / 20; reachHz /= 2) {
		for (const hz of [best.hz - reachHz / 2, best.hz + reachHz / 2]) {
			const here = power(hz);
			if (here > best.power) best = { hz, power: here };
		}
	}
	return best.hz;
}

/**
 * How far a wandering period lets the mean frequency of a run lie from its own: the phase of the fundamental in eight stretches
 * walks at random; its steps give the rate of the walk, and the walk over the whole run, in turns, over the span (derived).
 */
function wanderHz({ timesS, scores }: Candidate, hz: number, spanS: number): number {
	const re = new Float64Array(STRETCHES);
	const im = new Float64Array(STRETCHES);
	for (let i = 0; i < timesS.length; i++) {
		const atS = timesS[i]! - timesS[0]!;
		const stretch = Math.min(STRETCHES - 1, Math.floor((atS / spanS) * STRETCHES));
		re[stretch]! += (scores[i]! - 1) * Math.cos(2 * Math.PI * hz * atS);
		im[stretch]! += (scores[i]! - 1) * Math.sin(2 * Math.PI * hz * atS);
	}
	let squares = 0;
	for (let i = 1; i < STRETCHES; i++) {
		const turns = (Math.atan2(im[i]!, re[i]!) - Math.atan2(im[i - 1]!, re[i - 1]!)) / (2 * Math.PI);
		squares += (turns - Math.round(turns)) ** 2 / (STRETCHES - 1);
	}
	return Math.sqrt(squares * STRETCHES) / spanS;
}

/** Middle of a wandering line, each multiple weighed by what stands above its background. */
function centroid({ spanS, power, background }: EventSpectrum, { hz, width, harmonics }: Peak): number {
	let [sum, weight] = [0, 0];
	for (let h = 1; h <= harmonics; h++) {
		const k = Math.round(2 * spanS * hz * h);
		for (let i = k - width; i <= k + width && i < power.length; i++) {
			const above = Math.max(0, power[i]! / background[i]! - 1);
			sum += (above * i) / h;
			weight += above;
		}
	}
	return weight > 0 ? sum / weight / (2 * spanS) : hz;
}

/** Readings folded on the period: the worst of ten phases, by the share of its readings among the worst tenth of all. */
function worstTenth({ timesS, scores }: Candidate, hz: number): Repeat['worstTenth'] {
	// Savage scores put the worst tenth above ln 10.
	const bad = new Float64Array(PHASES);
	const all = new Float64Array(PHASES);
	for (let i = 0; i < timesS.length; i++) {
		const turns = (timesS[i]! - timesS[0]!) * hz;
		const phase = Math.min(PHASES - 1, Math.floor((turns - Math.floor(turns)) * PHASES));
		all[phase]!++;
		if (scores[i]! > Math.LN10) bad[phase]!++;
	}
	let worst = 0;
	for (let i = 1; i < PHASES; i++) if (bad[i]! * all[worst]! > bad[worst]! * all[i]!) worst = i;
	const [badSum, allSum] = [bad.reduce((a, b) => a + b, 0), all.reduce((a, b) => a + b, 0)];
	return {
		insideRatio: bad[worst]! / Math.max(1, all[worst]!),
		outsideRatio: (badSum - bad[worst]!) / Math.max(1, allSum - all[worst]!),
	};
}
