import { expect, test } from 'vitest';
import { decodeSrgb, encodeSrgb } from '../../src/colour/srgbTransfer.ts';
import { createRaster, type Raster } from '../../src/imaging/raster.ts';
import { measureMotion } from '../../src/metrics/motion.ts';
import type { DetailSample } from '../../src/observations/run.ts';
import { createMovedCardReader, type MovedLook } from '../../src/reading/movedCard.ts';
import { cardPicture } from './madeCardPicture.ts';

const SIDES = { widthPx: 620, heightPx: 430 };
const RATE_HZ = 25;
const CODES = Float32Array.from({ length: 65_536 }, (_, i) => encodeSrgb(i / 65_535));
const LIGHT = Float32Array.from({ length: 256 }, (_, code) => decodeSrgb(code));
/** A wide view, of which each picture shows a part: what moves is the part. */
const wide = lightOf(
	cardPicture({ widthPx: SIDES.widthPx + 120, heightPx: SIDES.heightPx, pxPerMm: 6.4, turnDeg: 3 }),
);

function lightOf({ widthPx, rgba }: Raster) {
	return { widthPx, light: Float32Array.from(rgba, (code) => LIGHT[code]!) };
}

/** The part from that column on, seen by a shutter that is open for so many pixels of the movement, evenly to both sides. */
function seenFrom(seen: typeof wide, columnPx: number, openPx: number): Raster {
	const raster = createRaster(SIDES.widthPx, SIDES.heightPx);
	const steps = Math.max(1, openPx);
	for (let row = 0; row < SIDES.heightPx; row++)
		for (let column = 0; column < SIDES.widthPx; column++)
			for (let c = 0; c < 3; c++) {
				let sum = 0;
				for (let step = 0; step < steps; step++) {
					const from = columnPx + column + step - ((steps - 1) >> 1);
					sum += seen.light[4 * (row * seen.widthPx + from) + c]!;
				}
				raster.rgba[4 * (row * SIDES.widthPx + column) + c] = CODES[Math.round((65_535 * sum) / steps)]!;
			}
	return raster;
}

/** Still for some pictures (or drifting), then to the right by so many pixels a picture. */
function moved(
	speedPx: number,
	openPx: number,
	{ rests = 3, moves = 4, driftPx = 0, seen = wide } = {},
): MovedLook[] {
	const reader = createMovedCardReader();
	let fromPx = 20;
	for (let i = 0; i < rests + moves; i++) {
		reader.look(seenFrom(seen, fromPx, i > rests ? openPx : 1), (1000 * i) / RATE_HZ);
		fromPx += i < rests ? driftPx : speedPx;
	}
	return reader.finish();
}

/** Soft from row to row alone, as a lens may be. */
function softDown({ widthPx, light }: typeof wide): typeof wide {
	const step = 4 * widthPx;
	const soft = light.map(
		(value, at) => ((light[at - step] ?? value) + value + (light[at + step] ?? value)) / 3,
	);
	return { widthPx, light: soft };
}

function motionOf(looks: readonly MovedLook[]) {
	return measureMotion(
		looks.map(
			({ frameNumber, atMs, edges }): DetailSample => ({
				...{ segment: 0, frameNumber, atMs, edges: [], lines: [], noise: [] },
				...{ blockinessRatio: null, chromaBleedRatio: null, rimLightRatio: null },
				motion: { edges: [...edges], ghosts: [], pulse: null },
			}),
		),
	);
}

test('a card moved by hand tells its own speed, and how long the shutter that smears it was open', () => {
	for (const [speedPx, openPx] of [
		[8, 5],
		[4, 3],
	] as const) {
		const motion = motionOf(moved(speedPx, openPx))!;
		expect(motion.speeds).toHaveLength(1);
		const [fast] = motion.speeds;
		// Across an edge that stands at 3 to 15 degrees the speed is 1 to 3 % less.
		expect(Math.abs(fast!.speedPx / speedPx - 1)).toBeLessThan(0.05);
		expect(motion.picturesHz).toBeCloseTo(RATE_HZ, 6);
		const openMs = (openPx / speedPx) * (1000 / RATE_HZ);
		expect(Math.abs(fast!.shutterMs! / openMs - 1)).toBeLessThan(0.15);
		expect(fast!.detailKeptRatio).toBeLessThan(0.7);
	}
});

test('a shutter that is hardly open keeps its detail at speed, whatever edges that lie are like', () => {
	const motion = motionOf(moved(8, 1, { seen: softDown(wide) }))!;
	expect(Math.abs(motion.speeds[0]!.detailKeptRatio! - 1)).toBeLessThan(0.03);
	expect(motion.speeds[0]!.smearPx).toBeLessThan(0.6);
});

test('of a card that never moved, or never rested, nothing is told', () => {
	expect(moved(0, 1)).toEqual([]);
	expect(moved(8, 5, { rests: 0, moves: 5 })).toEqual([]);
	expect(moved(8, 5, { driftPx: 1 })).toEqual([]);
});
