import { expect, test } from 'vitest';
import type { LumaPlane } from '../../src/imaging/planes.ts';
import { createClipReader } from '../../src/reading/clipReader.ts';
import { findMarkers } from '../../src/reading/markerFinder.ts';
import { createMarkerLocator } from '../../src/reading/markerLocator.ts';
import { posesOf } from '../../src/reading/markerPoses.ts';
import type { Located } from '../../src/reading/opticalTypes.ts';
import { trackTicks } from '../../src/reading/tickTrack.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { decode, scene } from './singleMarker.ts';

test.each([
	['4 px a module, blur and noise', { sidePx: 48 }, { blurPx: 0.8, noise: 4 }],
	['blur of 3 px on a marker of 120', { sidePx: 120 }, { blurPx: 3 }],
	['noise of 20 codes', { sidePx: 110 }, { noise: 20 }],
	['strong tilt', { sidePx: 110, tilt: 0.5 }, {}],
	['barrel and vignette', { sidePx: 110, barrel: 0.4 }, { vignette: 0.5 }],
	['mirrored and tilted', { sidePx: 100, mirrored: true, tilt: 0.3, barrel: 0.25 }, {}],
	['a quarter of the contrast', { sidePx: 110, black: 90, white: 140 }, {}],
] as const)('a single picture is read: %s', (_name, tablet, over) => {
	const { read, wrong } = decode(tablet, over);
	expect(wrong).toBe(0);
	expect(read).toBe(6);
});

test('past the edge of what can be read nothing wrong is read', () => {
	for (const [tablet, over] of [
		[{ sidePx: 30 }, { blurPx: 1.2 }],
		[{ sidePx: 110 }, { noise: 90 }],
		[{ sidePx: 110, black: 100, white: 112 }, {}],
	] as const)
		expect(decode(tablet, over).wrong).toBe(0);
});

test('no marker is seen in noise, textures and squares that are none', () => {
	for (let seed = 1; seed <= 20; seed++) {
		const luma = texture(seed);
		expect(findMarkers(luma).flatMap((quad) => posesOf(luma, quad))).toEqual([]);
	}
});

function locate(camera: ReturnType<typeof scene>, frames = 30): Located {
	const locator = createMarkerLocator();
	for (let i = 0; i < frames; i++) locator.add(camera.frame(i));
	const located = locator.locate();
	if (located.kind !== 'located') throw new Error(located.explanation);
	return located;
}

test('how a marker lies is told: label, turn, mirror image, height', () => {
	for (const [turnedDeg, mirrored] of [
		[0, false],
		[65, false],
		[-120, true],
		[180, true],
	] as const) {
		const { markers, filmed } = locate(scene({ turnedDeg, mirrored, sidePx: 100 }));
		expect(filmed).toBe('tripod');
		expect(markers).toHaveLength(2);
		const tablet = markers.find(({ label }) => label?.copy === 'scope')!;
		expect(tablet.label).toEqual({ copy: 'scope', rateHz: 60, session: 5 });
		expect(tablet.pose.mirrored).toBe(mirrored);
		expect(Math.abs(((tablet.turnedDeg - turnedDeg + 540) % 360) - 180)).toBeLessThan(2);
		expect(tablet.heightRatio).toBeCloseTo(0.5, 1);
		expect(tablet.sidePx).toBeGreaterThan(78);
		expect(tablet.sidePx).toBeLessThan(88);
	}
});

test('one marker alone, none, and no frames are refused by name', () => {
	const alone = scene({ middleXPx: -500 });
	const locator = createMarkerLocator();
	for (let i = 0; i < 10; i++) locator.add(alone.frame(i));
	expect(locator.locate()).toMatchObject({ kind: 'notMeasured', reason: 'oneMarker' });
	const empty = createMarkerLocator();
	expect(empty.locate()).toMatchObject({ reason: 'noFrames' });
	empty.add(texture(3));
	expect(empty.locate()).toMatchObject({ reason: 'noMarkers' });
	expect(() => empty.add({ ...texture(1), heightPx: 100 })).toThrow('one size');
});

test('a shaken clip is followed and read as well as one from a stand', () => {
	const camera = scene({ sidePx: 90 }, { shakePx: 5 });
	const reader = createClipReader(locate(camera, 2));
	for (let i = 0; i < camera.frames; i++) reader.look(camera.frame(i), camera.fileMs[i]!);
	const clip = reader.finish();
	expect(clip.filmed).toBe('handHeld');
	for (const track of clip.tracks) {
		const { good } = trackTicks(track);
		expect(good.reduce((sum, each) => sum + each, 0)).toBeGreaterThan(0.75 * good.length);
	}
	expect(() => reader.look(camera.frame(0), 0)).toThrow('order of their times');
});

/** The picture moved by so many pixels to the right and down, as after a knock at the stand. */
function knocked({ data, stride, widthPx, heightPx }: LumaPlane, byPx: number): LumaPlane {
	const out = new Uint8Array(widthPx * heightPx);
	for (let i = 0; i < out.length; i++) {
		const x = Math.max(0, (i % widthPx) - byPx);
		const y = Math.max(0, Math.floor(i / widthPx) - byPx);
		out[i] = data[y * stride + x]!;
	}
	return { data: out, stride: widthPx, widthPx, heightPx };
}

test('a phone on a stand that is knocked is followed from the next look on, and one that stands is not', () => {
	const camera = scene({ sidePx: 90 });
	const goodAfter = (byPx: number) => {
		const reader = createClipReader(locate(camera));
		for (let i = 0; i < camera.frames; i++)
			reader.look(i < 10 ? camera.frame(i) : knocked(camera.frame(i), byPx), camera.fileMs[i]!);
		const { tracks, filmed } = reader.finish();
		const ratios = tracks.map((track) => {
			const good = trackTicks(track).good.slice(31);
			return good.reduce((sum, each) => sum + each, 0) / good.length;
		});
		return { filmed, least: Math.min(...ratios) };
	};
	const { filmed, least } = goodAfter(9);
	expect(filmed).toBe('handHeld');
	expect(least).toBeGreaterThan(0.75);
	expect(goodAfter(0).filmed).toBe('tripod');
});

/** Blocks, gradients and noise, and dark squares with light rims but nothing inside. */
function texture(seed: number): LumaPlane {
	const [widthPx, heightPx] = [320, 200];
	const random = createRandom(seed);
	const data = new Uint8Array(widthPx * heightPx);
	for (let i = 0; i < data.length; i++) data[i] = 80 + 60 * Math.sin(i / 7000 + seed) + 10 * random.normal();
	const fill = (x: number, y: number, side: number, code: number): void => {
		for (let row = Math.max(0, y); row < Math.min(heightPx, y + side); row++)
			data.fill(code, row * widthPx + Math.max(0, x), row * widthPx + Math.min(widthPx, x + side));
	};
	for (let i = 0; i < 25; i++) {
		const [x, y, side] = [random.integer(widthPx), random.integer(heightPx), 20 + random.integer(70)];
		fill(x, y, side, 220);
		fill(x + 5, y + 5, side - 10, 20);
		if (i % 2 === 0)
			for (let k = 0; k < 12; k++) fill(x + 10 + random.integer(side), y + 10 + random.integer(side), 6, 220);
	}
	return { data, stride: widthPx, widthPx, heightPx };
}
