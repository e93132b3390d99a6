/** From the place where a search hit to the line that is there: its own frequency among its multiples, and its width. */
import type { EventSpectrum } from './eventSpectrum.ts';
import { lnGammaTail, type Peak } from './repeatSearch.ts';

const LEAST_SLOWER_TURNS = 10;
const MOST_SLOWER = 8;
/** About 1 in 3,000 by chance, and only where something was found already. */
const SLOWER_SURPRISE = 8;
const HELD_BY_MULTIPLES = 0.85;
/** A steady line has four fifths and more of its power at its middle, wherever it falls on the grid (computed). */
const STEADY_RATIO = 0.55;

/**
 * The peak as a line: at the frequency whose multiples hold the power (a search may hit on a half or a third of it), and
 * as wide as its power is spread.
 */
export function lineOf(spectrum: EventSpectrum, peak: Peak): Peak {
	const { spanS, power, background } = spectrum;
	const at = (k: number): number => (power[k] ?? 0) - (background[k] ?? 0);
	const lineAround = (hz: number): number => {
		const k = Math.round(2 * spanS * hz);
		return Math.max(0, at(k - 1), at(k), at(k + 1));
	};
	const heights = Array.from({ length: peak.harmonics }, (_, h) => lineAround((h + 1) * peak.hz));
	const all = heights.reduce((sum, x) => sum + x, 0);
	const held = (q: number): number => heights.reduce((sum, x, i) => ((i + 1) % q === 0 ? sum + x : sum), 0);
	const q = [8, 7, 6, 5, 4, 3, 2].find((n) => n <= peak.harmonics && held(n) > HELD_BY_MULTIPLES * all) ?? 1;
	const whole = { ...peak, hz: peak.hz * q, harmonics: Math.max(1, Math.floor(peak.harmonics / q)) };
	const line = q === 1 ? slower(whole, { spanS, heights: spectrum.heights }) : whole;
	if (peak.width === 1) return line;
	const steadyHz = nearby({ spanS, power }, line);
	const middle = Math.round(2 * spanS * steadyHz);
	let spread = 0;
	for (let k = middle - 2 * peak.width; k <= middle + 2 * peak.width; k++) spread += at(k) / 2;
	return lineAround(steadyHz) > STEADY_RATIO * spread ? { ...line, hz: steadyHz, width: 1 } : line;
}

/** Twice or three times the period, where the multiples that only the longer one has stand out too. */
function slower(peak: Peak, { spanS, heights }: Pick<EventSpectrum, 'spanS' | 'heights'>): Peak {
	for (const times of [3, 2]) {
		const hz = peak.hz / times;
		if (hz * spanS < LEAST_SLOWER_TURNS) continue;
		let [sum, count] = [0, 0];
		for (let h = 1; h < times * Math.max(2, peak.harmonics) && h <= MOST_SLOWER; h++) {
			if (h % times === 0) continue;
			sum += heights[Math.round(2 * spanS * hz * h)] ?? 1;
			count++;
		}
		if (-lnGammaTail(count, sum) > SLOWER_SURPRISE)
			return { ...peak, hz, harmonics: Math.min(MOST_SLOWER, peak.harmonics * times) };
	}
	return peak;
}

/** A wide search says only roughly where a steady line lies: the place nearby whose multiples hold most. */
function nearby(
	{ spanS, power }: Pick<EventSpectrum, 'spanS' | 'power'>,
	{ hz, harmonics, width }: Peak,
): number {
	const stepHz = 1 / (4 * spanS * harmonics);
	let [best, most] = [hz, 0];
	for (let here = hz - width / spanS; here <= hz + width / spanS; here += stepHz) {
		let sum = 0;
		for (let h = 1; h <= harmonics; h++) sum += power[Math.round(2 * spanS * h * here)] ?? 0;
		if (sum > most) [best, most] = [here, sum];
	}
	return best;
}
