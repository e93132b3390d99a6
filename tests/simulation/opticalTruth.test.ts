import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createGlowingScreen } from '../../src/simulation/glowingScreen.ts';
import { truePictures } from '../../src/simulation/opticalPictures.ts';
import { usualOpticalSpec } from '../../src/simulation/opticalSpec.ts';
import { opticalTruth } from '../../src/simulation/opticalTruth.ts';

test('mean age is content-weighted delay and half the mean square of gaps, on any piecewise curve', () => {
	const steps = fc.array(
		fc.tuple(fc.double({ min: 1, max: 90, noNaN: true }), fc.double({ min: 0, max: 1, noNaN: true })),
		{
			minLength: 3,
			maxLength: 60,
		},
	);
	fc.assert(
		fc.property(steps, (pairs) => {
			// Content instants and shown instants that keep their order, each shown after it was taken.
			const content = pairs.map((_, i) => pairs.slice(0, i + 1).reduce((sum, [gap]) => sum + gap, 0));
			let shownMs = 0;
			const shown = pairs.map(([, late], i) => {
				shownMs = Math.max(shownMs + 0.01, content[i]! + 80 * late);
				return shownMs;
			});
			let [area, weighted, squares] = [0, 0, 0];
			for (let i = 1; i < content.length; i++) {
				const hold = shown[i]! - shown[i - 1]!;
				area += hold * (shown[i - 1]! - content[i - 1]!) + (hold * hold) / 2;
				const gap = content[i]! - content[i - 1]!;
				weighted += gap * (shown[i]! - content[i]!);
				squares += gap * gap;
			}
			// The two cuts of one area differ by the triangles at its ends alone.
			const ends = ((shown.at(-1)! - content.at(-1)!) ** 2 - (shown[0]! - content[0]!) ** 2) / 2;
			expect(area).toBeCloseTo(weighted + squares / 2 + ends, 6);
		}),
	);
});

test('a screen gives the same mean light as fine steps of it', () => {
	const changes = [0, 16, 33, 50, 66];
	const contents = [1, -1, 1, 1, -1];
	const screen = createGlowingScreen(changes, contents, { width: 1, responseMs: 4 });
	for (const [from, to] of [
		[10, 20],
		[30, 33],
		[14, 60],
		[70, 90],
	] as const) {
		const into = new Float64Array(1);
		screen.expose(from, to, into);
		let state = 1;
		let sum = 0;
		const step = 0.001;
		for (let t = 0; t < to; t += step) {
			const content = contents[changes.findLastIndex((change) => change <= t)]!;
			state += ((content - state) * step) / 4;
			if (t >= from) sum += state * step;
		}
		expect(into[0]).toBeCloseTo(sum / (to - from), 2);
	}
});

test('pictures are shown in order, each after it was taken, and a freeze loses what was sent in it', () => {
	const link = { ...usualOpticalSpec.link, freezes: [{ fromMs: 4000, forMs: 800 }] };
	const pictures = truePictures({ ...usualOpticalSpec, link });
	const shown = pictures.filter(({ refreshMs }) => refreshMs !== null);
	for (const [i, { contentMs, refreshMs }] of shown.entries()) {
		expect(refreshMs!).toBeGreaterThan(contentMs);
		if (i > 0) expect(refreshMs!).toBeGreaterThan(shown[i - 1]!.refreshMs!);
	}
	expect(shown.some(({ refreshMs }) => refreshMs! > 4020 && refreshMs! < 4780)).toBe(false);
	const truth = opticalTruth({ ...usualOpticalSpec, link }, 0, 20_000);
	expect(truth.shareOver240Ratio).toBeGreaterThan(0.025);
	expect(truth.p50AgeMs).toBeLessThan(truth.meanAgeMs);
	expect(truth.freshDelayMs).toBeLessThan(truth.meanAgeMs);
});
