import { expect, test } from 'vitest';
import { createPlanes, lumaOf, type Planes } from '../../src/imaging/planes.ts';
import { loadCodecLibrary } from '../../src/media/node/codecLibrary.ts';
import { openH264Decoder } from '../../src/media/node/h264Decoder.ts';
import { openH264Encoder } from '../../src/media/node/h264Encoder.ts';
import { measureMotion } from '../../src/metrics/motion.ts';
import type { DetailSample } from '../../src/observations/run.ts';
import type { CardSpec } from '../../src/pattern/card.ts';
import { cardGeometry } from '../../src/pattern/geometry.ts';
import { barHeading, edgeBands } from '../../src/pattern/movingEdges.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { createLinkDetailReader } from '../../src/reading/linkDetail.ts';
import { readLinkMotion } from '../../src/reading/linkMotion.ts';
import { motionRows } from '../../src/report/motionRows.ts';

const SPEC: CardSpec = { layout: 'link', size: '1280x720', seed: 1, difficulty: 'motion' };
const RATE_HZ = 30;
const painter = createCardPainter(SPEC);
const read = createLinkDetailReader(SPEC);
const hasCodec = await loadCodecLibrary('encoder').then(
	() => true,
	() => false,
);

/** Light is in codes here: what mixes pictures on the way mixes their codes. */
function mixed(frameNumber: number, shares: readonly number[]): Planes {
	const planes = createPlanes(1280, 720);
	const sum = new Float64Array(planes.y.length);
	for (const [back, share] of shares.entries()) {
		const { y, u, v } = painter.paintPlanes(frameNumber - back);
		for (let at = 0; at < sum.length; at++) sum[at]! += share * y[at]!;
		if (back === 0) {
			planes.u.set(u);
			planes.v.set(v);
		}
	}
	for (let at = 0; at < sum.length; at++) planes.y[at] = Math.round(sum[at]!);
	return planes;
}

function motionOf(seen: (frameNumber: number) => Planes, frames: readonly number[]) {
	const details = frames.map((frameNumber): DetailSample => {
		const planes = seen(frameNumber);
		const atMs = (1000 * frameNumber) / RATE_HZ;
		return { segment: 0, frameNumber, atMs, ...read(planes, painter.paintPlanes(frameNumber), frameNumber) };
	});
	return measureMotion(details)!;
}

/** Every fifth picture of four seconds and a half, two beats of the pulse. */
const FRAMES = Array.from({ length: 27 }, (_, i) => 10 + 5 * i);

test('the card as drawn keeps its moving edges, drags nothing behind and keeps its pulse', () => {
	const motion = motionOf((n) => mixed(n, [1]), FRAMES);
	expect(motion.picturesHz).toBeCloseTo(RATE_HZ, 6);
	expect(motion.speeds.map(({ speedPx }) => speedPx)).toEqual([2, 6]);
	for (const { detailKeptRatio, smearPx } of motion.speeds) {
		expect(Math.abs(detailKeptRatio! - 1)).toBeLessThan(0.03);
		expect(smearPx).toBeLessThan(0.6);
	}
	expect(Math.abs(motion.earlierRatio!)).toBeLessThan(0.005);
	if (motion.pulse.kind === 'notMeasured') throw new Error(motion.pulse.explanation);
	expect(Math.abs(motion.pulse.ratePerMin - 30)).toBeLessThan(0.3);
	expect(Math.abs(motion.pulse.keptRatio - 1)).toBeLessThan(0.05);
	expect(Math.abs(motion.pulse.lagMs)).toBeLessThan(20);
});

test('a third of the picture before shining through is read as a third, and said', () => {
	const motion = motionOf((n) => mixed(n, [0.7, 0, 0.3]), FRAMES.slice(0, 12));
	expect(Math.abs(motion.earlierRatio! - 0.3)).toBeLessThan(0.02);
	expect(motionRows({ motion }).find(([asked]) => asked.startsWith('Do earlier'))![1]).toMatch(/ghost/);
});

test('a picture blurred alike to both sides drags nothing behind', () => {
	const blurred = (frameNumber: number): Planes => {
		const planes = mixed(frameNumber, [1]);
		const { y, widthPx, heightPx } = planes;
		const sharp = y.slice();
		for (let row = 0; row < heightPx; row++)
			for (let column = 8; column < widthPx - 8; column++) {
				let sum = 0;
				for (let away = -8; away <= 8; away++) sum += sharp[row * widthPx + column + away]!;
				y[row * widthPx + column] = Math.round(sum / 17);
			}
		return planes;
	};
	const motion = motionOf(blurred, FRAMES.slice(0, 4));
	// As much as one code of rounding makes of it, and far from what is called a ghost.
	expect(Math.abs(motion.earlierRatio!)).toBeLessThan(0.02);
});

test('where a bar turns round it tells neither edges nor ghosts of its speed', () => {
	const geometry = cardGeometry(SPEC);
	const fast = edgeBands(geometry).find(({ speedPx }) => speedPx === 6)!;
	const turn = Array.from({ length: 900 }, (_, i) => i).find(
		(frameNumber) =>
			frameNumber > 10 && barHeading(fast, geometry.unitPx, { frameNumber, nearPictures: 1 }) === null,
	)!;
	for (const frameNumber of [turn - 3, turn, turn + 3]) {
		const planes = painter.paintPlanes(frameNumber);
		const { edges, ghosts } = readLinkMotion(lumaOf(planes), geometry, frameNumber);
		expect(edges.some(({ speedPx }) => speedPx === 6)).toBe(false);
		expect(edges.some(({ speedPx }) => speedPx === 0)).toBe(true);
		expect(ghosts).toEqual([]);
	}
});

test('four pictures in one are a shutter open for about four, on the fast edge, and a pulse that comes late', () => {
	const motion = motionOf((n) => mixed(n, [0.25, 0.25, 0.25, 0.25]), FRAMES);
	const fast = motion.speeds.find(({ speedPx }) => speedPx === 6)!;
	expect(fast.detailKeptRatio).toBeLessThan(0.2);
	expect(Math.abs(fast.shutterMs! / (4 * (1000 / RATE_HZ)) - 1)).toBeLessThan(0.25);
	if (motion.pulse.kind === 'notMeasured') throw new Error(motion.pulse.explanation);
	// A mean of four stands one and a half pictures behind: 50 ms.
	expect(Math.abs(motion.pulse.lagMs - 50)).toBeLessThan(20);
});

test('a pulse held back to half its size is told so', () => {
	const motion = motionOf((n) => {
		// The other half stands where the pulse rests.
		const rest = painter.paintPlanes(60 * Math.floor(n / 60)).y.slice();
		const planes = mixed(n, [1]);
		for (let at = 0; at < rest.length; at++) planes.y[at] = Math.round((planes.y[at]! + rest[at]!) / 2);
		return planes;
	}, FRAMES);
	if (motion.pulse.kind === 'notMeasured') throw new Error(motion.pulse.explanation);
	expect(Math.abs(motion.pulse.keptRatio - 0.5)).toBeLessThan(0.1);
	expect(motionRows({ motion }).at(-1)![1]).toMatch(/smaller/);
});

test.skipIf(!hasCodec)(
	'through a real encoder at 3 Mbit/s the pulse keeps its size and its beat',
	async () => {
		const encoder = await openH264Encoder({
			...{ widthPx: 1280, heightPx: 720, rateHz: RATE_HZ, bitrateKbps: 3000, keyEveryFrames: 60 },
		});
		const decoder = await openH264Decoder();
		const decoded = new Map<number, Planes>();
		for (let frame = 0; frame < 145; frame++) {
			const out = decoder.decode(encoder.encode(painter.paintPlanes(frame)).bytes, frame);
			if (out === null || !FRAMES.includes(frame)) continue;
			const { y, u, v } = out.planes;
			decoded.set(frame, {
				...out.planes,
				y: Uint8Array.from(y),
				u: Uint8Array.from(u),
				v: Uint8Array.from(v),
			});
		}
		encoder.close();
		decoder.close();
		const motion = motionOf(
			(n) => decoded.get(n)!,
			FRAMES.filter((n) => decoded.has(n)),
		);
		if (motion.pulse.kind === 'notMeasured') throw new Error(motion.pulse.explanation);
		expect(Math.abs(motion.pulse.keptRatio - 1)).toBeLessThan(0.05);
		expect(Math.abs(motion.pulse.lagMs)).toBeLessThan(20);
		expect(Math.abs(motion.earlierRatio!)).toBeLessThan(0.05);
	},
);
