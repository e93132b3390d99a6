import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { BT709_LIMITED } from '../../src/colour/yCbCr.ts';
import { measureBlockiness } from '../../src/imaging/blockiness.ts';
import { blockSsim } from '../../src/imaging/blockSsim.ts';
import { gaussianSsim } from '../../src/imaging/gaussianSsim.ts';
import { meanSquaredError, psnrDb } from '../../src/imaging/meanSquaredError.ts';
import { type LumaPlane, lumaOf, type Planes } from '../../src/imaging/planes.ts';
import { createRaster, type Raster } from '../../src/imaging/raster.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { decodeJpeg, encodeJpeg } from '../../src/media/node/jpeg.ts';
import { decodePng } from '../../src/media/node/png.ts';

/**
 * A fundus photograph, the open picture nearest to tissue: CC0, in Debian's python3-skimage. Never fetched, only used where it is
 * installed, or unpacked in the folder that OPEN_PICTURES names.
 */
const FUNDUS = `${process.env['OPEN_PICTURES'] ?? '/usr/lib/python3/dist-packages/skimage/data'}/retina.jpg`;
const isThere = existsSync(FUNDUS);
const title = isThere ? '' : ' (NOT RUN: install python3-skimage for its retina.jpg)';
const hasTool = spawnSync('ffmpeg', ['-version']).status === 0;
const SIDE_PX = 320;

/** Where vessels are. */
function tissue(): Raster {
	return middleOf(decodeJpeg(readFileSync(FUNDUS)));
}

/** A square from the middle. */
function middleOf({ rgba, widthPx, heightPx }: Raster): Raster {
	const cut = createRaster(SIDE_PX, SIDE_PX);
	const [left, upper] = [(widthPx - SIDE_PX) >> 1, (heightPx - SIDE_PX) >> 1];
	for (let row = 0; row < SIDE_PX; row++) {
		const from = 4 * ((upper + row) * widthPx + left);
		cut.rgba.set(rgba.subarray(from, from + 4 * SIDE_PX), 4 * row * SIDE_PX);
	}
	return cut;
}

/** Whichever similarity, and the error: worse at every step down. */
function expectFalling(before: LumaPlane, worn: readonly LumaPlane[]): void {
	const errorDb = (a: LumaPlane, b: LumaPlane): number => psnrDb(meanSquaredError(a, b)) ?? 100;
	for (const likeness of [blockSsim, gaussianSsim, errorDb]) {
		const scores = worn.map((plane) => likeness(before, plane));
		for (const [i, score] of scores.slice(1).entries()) expect(score).toBeLessThan(scores[i]!);
	}
}

test.skipIf(!isThere)(
	`a fundus photograph through JPEG of falling quality is less and less like itself${title}`,
	() => {
		const raster = tissue();
		const luma = (quality: number) =>
			lumaOf(rasterToPlanes(decodeJpeg(encodeJpeg(raster, quality)), BT709_LIMITED));
		const worn = [90, 60, 30, 10].map(luma);
		expectFalling(lumaOf(rasterToPlanes(raster, BT709_LIMITED)), worn);
		const blocks = worn.map((plane) => measureBlockiness(plane).ratio);
		expect(blocks).toEqual(blocks.toSorted((a, b) => a - b));
	},
);

/** Other photographs of the same package, of faces, fur, food and stone: whichever are there. */
const others = [
	'astronaut.png',
	'chelsea.png',
	'coffee.png',
	'rocket.jpg',
	'brick.png',
	'gravel.png',
	'grass.png',
];
const present = others.map((name) => FUNDUS.replace('retina.jpg', name)).filter((path) => existsSync(path));

test.skipIf(present.length === 0)(
	`other open photographs through JPEG of falling quality are less and less like themselves${present.length === 0 ? ' (NOT RUN: no others are installed)' : ''}`,
	() => {
		for (const path of present) {
			const bytes = readFileSync(path);
			const raster = middleOf(path.endsWith('.png') ? decodePng(bytes) : decodeJpeg(bytes));
			const luma = (quality: number) =>
				lumaOf(rasterToPlanes(decodeJpeg(encodeJpeg(raster, quality)), BT709_LIMITED));
			expectFalling(lumaOf(rasterToPlanes(raster, BT709_LIMITED)), [90, 60, 30, 10].map(luma));
		}
	},
);

/** Chroma is what codecs throw away first. */
test.skipIf(!isThere)(
	`a fundus photograph through JPEG of falling quality loses its chroma bit by bit${title}`,
	() => {
		const raster = tissue();
		const before = rasterToPlanes(raster, BT709_LIMITED);
		const errors = [90, 60, 30, 10].map((quality) => {
			const worn = rasterToPlanes(decodeJpeg(encodeJpeg(raster, quality)), BT709_LIMITED);
			return meanSquaredError(chromaOf(before), chromaOf(worn));
		});
		expect(errors).toEqual(errors.toSorted((a, b) => a - b));
	},
);

function chromaOf({ v, uvStride, widthPx, heightPx }: Planes): LumaPlane {
	return { data: v, stride: uvStride, widthPx: widthPx >> 1, heightPx: heightPx >> 1 };
}

test.skipIf(!isThere || !hasTool)(
	`a fundus photograph through H.264 of falling quality is less and less like itself${title}`,
	() => {
		const planes = rasterToPlanes(tissue(), BT709_LIMITED);
		const worn = [15, 25, 35, 45].map((quality) => throughH264(planes, quality));
		expectFalling(lumaOf(planes), worn);
	},
);

/** By FFmpeg's x264 at a constant quality, one picture. */
function throughH264({ y, u, v }: Planes, quality: number): LumaPlane {
	const raw = ['-f', 'rawvideo', '-pix_fmt', 'yuv420p', '-s', `${SIDE_PX}x${SIDE_PX}`];
	const tool = (args: readonly string[], input: Uint8Array): Buffer =>
		spawnSync('ffmpeg', ['-v', 'error', ...args, 'pipe:1'], { input, maxBuffer: 1e8 }).stdout;
	const coded = tool(
		[...raw, '-i', 'pipe:0', '-c:v', 'libx264', '-crf', String(quality), '-f', 'h264'],
		Buffer.concat([y, u, v]),
	);
	const decoded = tool(['-f', 'h264', '-i', 'pipe:0', '-f', 'rawvideo', '-pix_fmt', 'yuv420p'], coded);
	const data = Uint8Array.from(decoded.subarray(0, SIDE_PX * SIDE_PX));
	return { data, stride: SIDE_PX, widthPx: SIDE_PX, heightPx: SIDE_PX };
}
