import { expect, test } from 'vitest';
import { measureBlockiness } from '../../src/imaging/blockiness.ts';
import { measureLines } from '../../src/imaging/lineContrast.ts';
import { measureNoise } from '../../src/imaging/noise.ts';
import { createRealPlane, type RealPlane } from '../../src/imaging/realPlane.ts';
import { measureShading } from '../../src/imaging/shading.ts';
import { spatialInformation, temporalInformation } from '../../src/imaging/spatialTemporal.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { coarseBlocks } from '../reading/degrade.ts';
import { cosineLawRows } from '../vectors/imagingEdges.ts';
import { planeOf, texturedPlane } from './madePictures.ts';

/** Pictures of a patch of 64 x 48 with a slope, a fixed pattern and noise of known deviations. */
function patchPictures(
	count: number,
	{ temporal, fixed, rows = 0, wavering = 0 }: Record<string, number> & { temporal: number; fixed: number },
) {
	const random = createRandom(7);
	const pattern = Array.from({ length: 64 * 48 }, () => fixed * random.normal());
	return Array.from({ length: count }, (): RealPlane => {
		const plane = createRealPlane(64, 48);
		const level = 100 + wavering * random.normal();
		for (let row = 0; row < 48; row++) {
			const band = rows * random.normal();
			for (let column = 0; column < 64; column++)
				plane.data[row * 64 + column] =
					level + 0.05 * column + band + pattern[row * 64 + column]! + temporal * random.normal();
		}
		return plane;
	});
}

function noiseOf(pictures: readonly RealPlane[]) {
	const noise = measureNoise(pictures);
	if (noise.kind === 'notMeasured') throw new Error(noise.reason);
	return noise;
}

test('temporal and fixed noise and the signal over both come back within 3 %, shading taken out', () => {
	const noise = noiseOf(patchPictures(16, { temporal: 3, fixed: 2 }));
	expect(Math.abs(noise.temporal! / 3 - 1)).toBeLessThan(0.03);
	expect(Math.abs(noise.fixedPattern / 2 - 1)).toBeLessThan(0.03);
	expect(Math.abs(noise.signalToNoise! / (101.6 / Math.hypot(3, 2)) - 1)).toBeLessThan(0.03);
	expect(noise.frozen).toBe(false);
});

test('two pictures already tell temporal noise from fixed', () => {
	const noise = noiseOf(patchPictures(2, { temporal: 1, fixed: 4 }));
	expect(Math.abs(noise.temporal! - 1)).toBeLessThan(0.05);
	expect(Math.abs(noise.fixedPattern / 4 - 1)).toBeLessThan(0.05);
});

test('a frozen picture has no temporal noise and says frozen', () => {
	const [picture] = patchPictures(1, { temporal: 2, fixed: 1 });
	const noise = noiseOf([picture!, picture!, picture!]);
	expect([noise.temporal, noise.frozen, noise.wavering]).toEqual([0, true, 0]);
	expect(noise.fixedPattern).toBeGreaterThan(2);
});

test('one picture alone says nothing of what moves', () => {
	const noise = noiseOf(patchPictures(1, { temporal: 2, fixed: 1 }));
	expect([noise.temporal, noise.banding, noise.frozen]).toEqual([null, null, false]);
});

test('rows that flicker together are banding, a lamp that wavers is no noise', () => {
	const noise = noiseOf(patchPictures(24, { temporal: 1, fixed: 0, rows: 1.5, wavering: 4 }));
	expect(Math.abs(noise.banding!.rows / 1.5 - 1)).toBeLessThan(0.08);
	expect(noise.banding!.columns).toBeLessThan(0.15);
	expect(noise.wavering).toBeGreaterThan(2.5);
	expect(Math.abs(noise.temporal! / Math.hypot(1, 1.5) - 1)).toBeLessThan(0.05);
});

test('grain alone makes no bands, and pictures that get lighter by 4 waver by 4', () => {
	// Means of rows of 64 independent pixels stray by 8 / 8 = 1 (computed): that is grain, and taken off.
	const { banding } = noiseOf(patchPictures(24, { temporal: 8, fixed: 0 }));
	expect(banding!.rows).toBeLessThan(0.5);
	expect(banding!.columns).toBeLessThan(0.5);
	const levels = [10, 14, 18].map((level) => {
		const plane = createRealPlane(16, 16);
		plane.data.fill(level);
		return plane;
	});
	expect(noiseOf(levels).wavering).toBeCloseTo(4, 9);
});

test.each(cosineLawRows.slice(0, 3))(
	'the fall-off of a lens at %d degrees is %d of the middle',
	(angleDeg, light) => {
		const far = Math.tan((angleDeg * Math.PI) / 180);
		const places = Array.from({ length: 400 }, (_, i) => {
			const x = ((i % 20) / 9.5 - 1) * far;
			const y = (Math.floor(i / 20) / 9.5 - 1) * far;
			return {
				xPx: 500 + 100 * x,
				yPx: 300 + 100 * y,
				light: 0.5 * Math.cos(Math.atan(Math.hypot(x, y))) ** 4,
			};
		}).filter(({ xPx, yPx }) => Math.hypot(xPx - 500, yPx - 300) <= 100.001 * far);
		const shading = measureShading(places, { xPx: 500, yPx: 300, radiusPx: 100 * far });
		if (shading.kind === 'notMeasured') throw new Error(shading.reason);
		expect(Math.abs(shading.rimRatio - light)).toBeLessThan(0.03);
		expect(shading.lightestRimRatio - shading.darkestRimRatio).toBeLessThan(0.01);
	},
);

test('light that falls off to one side is told by its darkest rim; too few places are refused', () => {
	const places = Array.from({ length: 25 }, (_, i) => {
		const x = (i % 5) - 2;
		return { xPx: x, yPx: Math.floor(i / 5) - 2, light: 1 + 0.1 * x };
	});
	const shading = measureShading(places, { xPx: 0, yPx: 0, radiusPx: 2 });
	expect(shading).toMatchObject({ kind: 'measured' });
	if (shading.kind === 'measured')
		expect(shading.lightestRimRatio - shading.darkestRimRatio).toBeCloseTo(0.2 * shading.reachRatio * 2, 5);
	expect(measureShading(places.slice(0, 8), { xPx: 0, yPx: 0, radiusPx: 2 })).toMatchObject({
		reason: 'tooFewPlaces',
	});
});

// ITU-T P.910; worked by hand in standards.md 5.4.
test('half black, half white, twelve by twelve, has a spatial information of 408', () => {
	expect(spatialInformation(planeOf([12, 12], (x) => (x < 6 ? 0 : 255), 3))).toBeCloseTo(408, 10);
});

test('temporal information is 0 when all brightens by ten, 50 when half brightens by a hundred', () => {
	const before = planeOf([12, 12], (x, y) => 20 + x + y);
	expect(
		temporalInformation(
			before,
			planeOf([12, 12], (x, y) => 30 + x + y, 5),
		),
	).toBe(0);
	expect(
		temporalInformation(
			before,
			planeOf([12, 12], (x, y) => 20 + x + y + (x < 6 ? 0 : 100)),
		),
	).toBeCloseTo(50, 10);
});

test('coarse 8 x 8 transforms make a grid, and the grid is found where it lies', () => {
	const picture = texturedPlane([200, 120], 3);
	const clean = measureBlockiness(picture);
	const blocky = measureBlockiness(coarseBlocks(picture, 60));
	expect(clean.ratio).toBeLessThan(1.2);
	expect(blocky.ratio).toBeGreaterThan(clean.ratio + 0.2);
	expect([blocky.gridPx, blocky.offsetXPx, blocky.offsetYPx]).toEqual([8, 0, 0]);
	expect(measureBlockiness(planeOf([64, 64], () => 90)).ratio).toBe(1);
});

test('steps in one direction alone are a grid, and a grid of 16 is no grid of 8', () => {
	const picture = texturedPlane([200, 120], 3);
	const stepped = (everyPx: number) => ({
		...picture,
		data: picture.data.map((code, at) => code + (Math.floor((at % 200) / everyPx) % 2 === 0 ? 0 : 12)),
	});
	const fine = measureBlockiness(stepped(8));
	expect(fine.ratio).toBeGreaterThan(1.3);
	expect([fine.gridPx, fine.offsetXPx]).toEqual([8, 0]);
	expect(measureBlockiness(stepped(16)).gridPx).toBe(16);
});

const PINK = [214, 148, 140] as const;
const RED = [160, 52, 58] as const;

/** Lines and gaps of `half` steps each, `periods` times, mixed by `left` of their contrast; luma and chroma alike. */
function profile(half: number, periods: number, left: number) {
	const colours = Array.from({ length: 2 * half * periods }, (_, at) => {
		const share = 0.5 + (Math.floor(at / half) % 2 === 0 ? -0.5 : 0.5) * left;
		return PINK.map((code, c) => code + share * (RED[c]! - code)) as [number, number, number];
	});
	return { colours, periodSteps: 2 * half, ground: PINK, ink: RED };
}

test('lines drawn whole keep all their contrast, faded ones what is left of it', () => {
	const whole = measureLines(profile(8, 6, 1));
	const faded = measureLines(profile(8, 6, 0.3));
	expect(whole.lumaRatio).toBeCloseTo(1, 1);
	expect(whole.chromaRatio).toBeCloseTo(1, 1);
	expect(faded.lumaRatio / whole.lumaRatio).toBeCloseTo(0.3, 3);
	expect([whole.seen, whole.seenByColour]).toEqual([true, true]);
	expect(measureLines(profile(8, 6, 0.1)).seen).toBe(false);
});

test('lines no stronger than what grain makes beside them are not seen', () => {
	const { colours, ...rest } = profile(8, 6, 0.5);
	const random = createRandom(11);
	const grained = colours.map((rgb) => {
		const grain = 90 * random.normal();
		return rgb.map((code) => code + grain) as [number, number, number];
	});
	const lines = measureLines({ ...rest, colours: grained });
	expect(lines.lumaRatio).toBeGreaterThan(0.2);
	expect(lines.lumaNoiseRatio).toBeGreaterThan(lines.lumaRatio / 3);
	expect(lines.seen).toBe(false);
	// The grain is grey: the redness stands clear of it.
	expect(lines.seenByColour).toBe(true);
});

test('lines that keep their luma and lose their colour are told so', () => {
	const { colours, ...rest } = profile(6, 5, 1);
	const grey = colours.map(([r, g, b]) => {
		const luma = 0.2126 * r + 0.7152 * g + 0.0722 * b;
		return [luma, luma, luma] as const;
	});
	const lines = measureLines({ ...rest, colours: grey });
	expect([lines.seen, lines.seenByColour]).toEqual([true, false]);
	expect(lines.chromaRatio).toBeLessThan(0.01);
});
