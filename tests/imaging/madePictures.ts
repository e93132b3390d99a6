/** Pictures made for the tests of this folder: seeded, textured, and worn as a codec or a lens wears them. */
import type { LumaPlane } from '../../src/imaging/planes.ts';
import type { Raster } from '../../src/imaging/raster.ts';
import { createRandom } from '../../src/statistics/random.ts';

/** A plane from a function of x and y, its rows padded with a code that no measurement may look at. */
export function planeOf(
	[widthPx, heightPx]: readonly [number, number],
	codeAt: (xPx: number, yPx: number) => number,
	paddingPx = 0,
): LumaPlane {
	const stride = widthPx + paddingPx;
	const data = new Uint8Array(stride * heightPx).fill(99);
	for (let yPx = 0; yPx < heightPx; yPx += 1) {
		for (let xPx = 0; xPx < widthPx; xPx += 1) {
			data[yPx * stride + xPx] = Math.min(255, Math.max(0, Math.round(codeAt(xPx, yPx))));
		}
	}
	return { data, stride, widthPx, heightPx };
}

/** Slow shading, waves of several lengths, and grain. */
export function texturedPlane(sides: readonly [number, number], seed: number): LumaPlane {
	const { next } = createRandom(seed);
	const waves = Array.from({ length: 6 }, () => ({
		alongX: (next() - 0.5) * 0.8,
		alongY: (next() - 0.5) * 0.8,
		height: 6 + 14 * next(),
		phase: 6.28 * next(),
	}));
	return planeOf(sides, (xPx, yPx) => {
		const shading = 110 + 40 * Math.sin(xPx / 90) + 25 * Math.cos(yPx / 70);
		const waved = waves.map((w) => w.height * Math.sin(w.alongX * xPx + w.alongY * yPx + w.phase));
		return waved.reduce((sum, value) => sum + value, shading) + 12 * (next() - 0.5);
	});
}

/** The plane with each code moved by up to `amplitude` either way. */
export function noisy(plane: LumaPlane, amplitude: number, seed: number): LumaPlane {
	const { next } = createRandom(seed);
	return planeOf(
		[plane.widthPx, plane.heightPx],
		(x, y) => codeOf(plane, x, y) + amplitude * (2 * next() - 1),
	);
}

/** Mean of 3 x 3. */
export function blurred(plane: LumaPlane): LumaPlane {
	return planeOf([plane.widthPx, plane.heightPx], (x, y) => {
		let sum = 0;
		for (const down of [-1, 0, 1]) for (const right of [-1, 0, 1]) sum += codeOf(plane, x + right, y + down);
		return sum / 9;
	});
}

/** Codes rounded to multiples of `step`. */
export function coarse(plane: LumaPlane, step: number): LumaPlane {
	const sides = [plane.widthPx, plane.heightPx] as const;
	return planeOf(sides, (x, y) => step * Math.round(codeOf(plane, x, y) / step));
}

/** Grey RGBA of a plane, without its padding. */
export function greyRaster(plane: LumaPlane): Raster {
	const { widthPx, heightPx } = plane;
	const rgba = new Uint8ClampedArray(widthPx * heightPx * 4);
	for (let at = 0; at < widthPx * heightPx; at += 1) {
		const code = codeOf(plane, at % widthPx, Math.floor(at / widthPx));
		rgba.set([code, code, code, 255], at * 4);
	}
	return { widthPx, heightPx, rgba };
}

/** Seeded random codes in every channel. */
export function randomRaster([widthPx, heightPx]: readonly [number, number], seed: number): Raster {
	const { next } = createRandom(seed);
	const rgba = Uint8ClampedArray.from({ length: widthPx * heightPx * 4 }, (_, at) =>
		at % 4 === 3 ? 255 : Math.floor(256 * next()),
	);
	return { widthPx, heightPx, rgba };
}

function codeOf(plane: LumaPlane, xPx: number, yPx: number): number {
	const x = Math.min(plane.widthPx - 1, Math.max(0, xPx));
	const y = Math.min(plane.heightPx - 1, Math.max(0, yPx));
	return plane.data[y * plane.stride + x]!;
}
