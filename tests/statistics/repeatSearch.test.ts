import { expect, test } from 'vitest';
import type { EventSpectrum } from '../../src/statistics/eventSpectrum.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { highestPeak } from '../../src/statistics/repeatSearch.ts';

const SPAN_S = 60;
const HIGHEST_HZ = 40;
const STEPS = 2 * SPAN_S * HIGHEST_HZ;

/** A spectrum by its heights, all at their mean but where `lines` says otherwise. */
function spectrum(lines: Readonly<Record<number, number>>, own: readonly number[] = []): EventSpectrum {
	const heights = new Float64Array(STEPS).fill(1);
	for (const [step, height] of Object.entries(lines)) heights[Number(step)] = height;
	const isOwn = new Uint8Array(STEPS);
	for (const step of own) isOwn[step] = 1;
	const flat = new Float64Array(STEPS).fill(1);
	return { spanS: SPAN_S, power: flat, background: flat, heights, own: isOwn };
}

/** Nine neighbours, each a little high: a line that wanders. */
function wide(step: number): Record<number, number> {
	return Object.fromEntries(Array.from({ length: 9 }, (_, i) => [step + 2 * (i - 4), 7]));
}

test('one high step is found at its frequency, and its surprise is paid for by the number of trials', () => {
	const peak = highestPeak(spectrum({ 2400: 30 }));
	expect(peak).toMatchObject({ hz: 20, harmonics: 1, width: 1 });
	// A trial for every step at the least: ln 4800 is 8.5.
	expect(peak!.surprise).toBeLessThan(30 - 8.4);
	expect(peak!.surprise).toBeGreaterThan(30 - 12);
});

test('where there is nothing, one spectrum in twenty looks as surprising as one in twenty may', () => {
	const random = createRandom(5);
	const runs = 400;
	let told = 0;
	for (let run = 0; run < runs; run++) {
		const heights = Float64Array.from({ length: STEPS }, () => -Math.log(1 - random.next()));
		const peak = highestPeak({ ...spectrum({}), heights });
		if (peak!.surprise > -Math.log(0.05)) told++;
	}
	// Trials that share steps are fewer than counted, so it may be less; more is by chance (binomial 99.9 %).
	expect(told / runs).toBeLessThan(0.09);
});

test('what turned fewer than ten times in the whole run is no period', () => {
	expect(highestPeak(spectrum({ 10: 60, 3000: 12 }))!.hz).toBe(25);
	expect(highestPeak(spectrum({ 21: 60, 3000: 12 }))!.hz).toBeCloseTo(21 / (2 * SPAN_S), 6);
});

test('a slow line that wanders is found wide, a fast one is not: crowded trouble would look like it', () => {
	const slow = highestPeak(spectrum(wide(180)));
	expect(slow).toMatchObject({ width: 9, harmonics: 1 });
	expect(slow!.surprise).toBeGreaterThan(10);
	// Beyond eight times the slow ones' highest, so that it is no multiple of one either.
	expect(highestPeak(spectrum(wide(3600)))!.surprise).toBeLessThan(2);
});

test('a period that turns as one of the instrument’s own does is never told, though its multiples are not', () => {
	const multiples = [1202, 1803, 2404, 3005, 3606, 4207];
	const lines = Object.fromEntries(multiples.map((step) => [step, 20]));
	expect(highestPeak(spectrum(lines))!.hz).toBeCloseTo(601 / (2 * SPAN_S), 2);
	const told = highestPeak(spectrum(lines, [599, 600, 601, 602]))!;
	expect(Math.abs(told.hz - 601 / (2 * SPAN_S))).toBeGreaterThan(1);
});

test('a period most of whose multiples are the instrument’s own is never told', () => {
	const multiples = [600, 1200, 1800, 2400, 3000, 3600, 4200];
	const lines = Object.fromEntries(multiples.map((step) => [step, 20]));
	expect(highestPeak(spectrum(lines))!.hz).toBe(5);
	const { hz, harmonics } = highestPeak(spectrum(lines, multiples))!;
	const step = 2 * SPAN_S * hz;
	const ours = Array.from({ length: harmonics }, (_, i) => Math.round((i + 1) * step)).filter((each) =>
		multiples.includes(each),
	);
	expect(ours.length).toBeLessThan(harmonics / 2);
});
