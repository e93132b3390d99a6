/**
 * How long colour and picture measures take on one 1920 x 1080 picture, beside general-purpose libraries that do the same,
 * in the same run on the same seeded pixels; and how far their values lie apart.
 *
 *   npx tsx bench/imagingSpeed.ts [--quick] [--json]
 *
 * One thread. Ours and theirs take turns, so that whatever else the machine does strikes both; the median of the turns is
 * given, and with --json every turn. CIEDE2000 is from sRGB codes, and its value the sum over 24 pairs. A star marks a peer
 * that measures by other blocks, so that its value need not agree.
 */
import { differenceCiede2000 } from 'culori';
import pixelmatch from 'pixelmatch';
import { ssim } from 'ssim.js';
import { deltaE00 } from '../src/colour/deltaE00.ts';
import type { Rgb } from '../src/colour/rgb.ts';
import { srgbToLab65 } from '../src/colour/srgbToLab65.ts';
import { BT709_LIMITED, rgbToYCbCr } from '../src/colour/yCbCr.ts';
import { blockSsim } from '../src/imaging/blockSsim.ts';
import { differencePicture } from '../src/imaging/differencePicture.ts';
import { gaussianSsim } from '../src/imaging/gaussianSsim.ts';
import { meanSquaredError, psnrDb } from '../src/imaging/meanSquaredError.ts';
import { lumaOf, type Planes } from '../src/imaging/planes.ts';
import { planesToRaster } from '../src/imaging/planesToRaster.ts';
import { createRaster, type Raster } from '../src/imaging/raster.ts';
import { rasterToPlanes } from '../src/imaging/rasterToPlanes.ts';
import { createRandom } from '../src/statistics/random.ts';
import { benchContext, printTable } from './benchReport.ts';

const SEED = 20240;
const WIDTH_PX = 1920;
const HEIGHT_PX = 1080;
const MOVING = { xPx: 760, yPx: 390, widthPx: 400, heightPx: 300 };
const quick = process.argv.includes('--quick');

/** One thing to time: our way, a peer's way, and what to say of their values. */
type Case = {
	readonly what: string;
	readonly peer: string;
	readonly turns: number;
	readonly ours: () => number;
	/** Null: nothing to set beside it. */
	readonly theirs: (() => number) | null;
};
type Row = {
	readonly what: string;
	readonly peer: string;
	readonly oursMs: number;
	readonly theirsMs: number | null;
	readonly theirsOverOurs: number | null;
	readonly oursValue: number;
	readonly theirsValue: number | null;
	readonly difference: number | null;
	readonly oursSamplesMs: readonly number[];
	readonly theirsSamplesMs: readonly number[];
};

const before = madePicture(createRandom(SEED).next);
const after = worn(before, createRandom(SEED + 1).next);
const planesBefore = rasterToPlanes(before, BT709_LIMITED);
const planesAfter = rasterToPlanes(after, BT709_LIMITED);
const rows = cases().map(measure);

if (process.argv.includes('--json'))
	console.log(
		JSON.stringify({ bench: 'imagingSpeed', context: benchContext(), seed: SEED, quick, rows }, null, '\t'),
	);
else print(rows);

function cases(): Case[] {
	const [lumaBefore, lumaAfter] = [lumaOf(planesBefore), lumaOf(planesAfter)];
	const [greyBefore, greyAfter] = [greyImage(planesBefore), greyImage(planesAfter)];
	const scratch = rasterToPlanes(before, BT709_LIMITED);
	const luma = new Uint8Array(WIDTH_PX * HEIGHT_PX);
	const back = createRaster(WIDTH_PX, HEIGHT_PX);
	const patches = patchPairs(createRandom(SEED + 2).next);
	const theirDifference = differenceCiede2000();
	const ssimOf = (variant: 'original' | 'bezkrovny') =>
		ssim(greyBefore, greyAfter, { ssim: variant, downsample: false }).mssim;
	const many = quick ? 9 : 31;
	return [
		{
			what: 'CIEDE2000, 24 patches',
			peer: 'culori',
			turns: many * 10,
			ours: () => sumOver(patches, ([a, b]) => deltaE00(srgbToLab65(a), srgbToLab65(b))),
			theirs: () => sumOver(patches, ([a, b]) => theirDifference(named(a), named(b))),
		},
		{
			what: 'PSNR, luma, dB',
			peer: '',
			turns: many,
			ours: () => psnrDb(meanSquaredError(lumaBefore, lumaAfter)) ?? Number.POSITIVE_INFINITY,
			theirs: null,
		},
		{
			what: 'block SSIM',
			peer: 'ssim.js bezkrovny *',
			turns: many,
			ours: () => blockSsim(lumaBefore, lumaAfter),
			theirs: () => ssimOf('bezkrovny'),
		},
		{
			what: 'Gaussian SSIM, 11 x 11',
			peer: 'ssim.js original',
			turns: quick ? 2 : 5,
			ours: () => gaussianSsim(lumaBefore, lumaAfter),
			theirs: () => ssimOf('original'),
		},
		{
			what: 'rasterToPlanes, whole',
			peer: 'real-valued, luma only',
			turns: quick ? 3 : 9,
			ours: () => meanOfSome(rasterToPlanes(before, BT709_LIMITED, scratch).y),
			theirs: () => meanOfSome(lumaPixelByPixel(before, luma)),
		},
		{
			what: 'rasterToPlanes, 400 x 300',
			peer: '',
			turns: many * 4,
			ours: () => rasterToPlanes(before, BT709_LIMITED, scratch, MOVING).y[0]!,
			theirs: null,
		},
		{
			what: 'planesToRaster, whole',
			peer: '',
			turns: many,
			ours: () => planesToRaster(planesBefore, BT709_LIMITED, back).rgba[0]!,
			theirs: null,
		},
		{
			what: 'difference picture',
			peer: 'pixelmatch itself',
			turns: quick ? 3 : 9,
			ours: () => differencePicture(before, after).mismatchRatio,
			theirs: () =>
				pixelmatch(before.rgba, after.rgba, back.rgba, WIDTH_PX, HEIGHT_PX) / (WIDTH_PX * HEIGHT_PX),
		},
	];
}

function measure({ what, peer, turns, ours, theirs }: Case): Row {
	const oursSamplesMs: number[] = [];
	const theirsSamplesMs: number[] = [];
	const warmUps = Math.min(3, turns);
	let oursValue = 0;
	let theirsValue: number | null = null;
	for (let turn = -warmUps; turn < turns; turn += 1) {
		const start = performance.now();
		oursValue = ours();
		const middle = performance.now();
		if (theirs !== null && (turn >= 0 || turns > 5)) theirsValue = theirs();
		const end = performance.now();
		if (turn < 0) continue;
		oursSamplesMs.push(middle - start);
		if (theirs !== null) theirsSamplesMs.push(end - middle);
	}
	const oursMs = median(oursSamplesMs);
	const theirsMs = theirs === null ? null : median(theirsSamplesMs);
	return {
		what,
		peer,
		oursMs,
		theirsMs,
		theirsOverOurs: theirsMs === null ? null : theirsMs / oursMs,
		oursValue,
		theirsValue,
		difference: theirsValue === null ? null : oursValue - theirsValue,
		oursSamplesMs,
		theirsSamplesMs,
	};
}

function print(measured: readonly Row[]): void {
	const { commit, node, cpu, loadAverage } = benchContext();
	console.log(
		`One picture of 1920 x 1080, one thread, median of turns; seed ${SEED}${quick ? '; quick' : ''}`,
	);
	console.log(`commit ${commit}, node ${node}, ${cpu}, load ${loadAverage}\n`);
	printTable(
		measured.map(({ what, oursMs, oursValue }) => ({
			ours: what,
			ms: fixed(oursMs),
			value: oursValue.toPrecision(7),
		})),
	);
	console.log('');
	printTable(measured.flatMap(besidePeer));
	console.log('\n* measures by other blocks: its value need not agree');
}

/** A row of the second table; none where there is no peer. */
function besidePeer({ what, peer, theirsMs, theirsOverOurs, difference }: Row) {
	if (theirsMs === null || theirsOverOurs === null || difference === null) return [];
	const ratio = theirsOverOurs.toFixed(2);
	return [
		{
			ours: what,
			beside: peer,
			ms: fixed(theirsMs),
			'times ours': ratio,
			'ours less theirs': difference.toExponential(1),
		},
	];
}

function fixed(ms: number): string {
	return ms.toFixed(3);
}

/** Shading, waves and grain in colour. */
function madePicture(next: () => number): Raster {
	const raster = createRaster(WIDTH_PX, HEIGHT_PX);
	for (let at = 0; at < WIDTH_PX * HEIGHT_PX; at += 1) {
		const xPx = at % WIDTH_PX;
		const yPx = Math.floor(at / WIDTH_PX);
		const shade =
			120 + 60 * Math.sin(xPx / 140) * Math.cos(yPx / 110) + 30 * Math.sin(0.2 * xPx + 0.13 * yPx);
		const grain = 16 * (next() - 0.5);
		raster.rgba[at * 4] = 1.15 * shade + grain + 20;
		raster.rgba[at * 4 + 1] = 0.8 * shade + grain;
		raster.rgba[at * 4 + 2] = 0.7 * shade + grain + 10;
	}
	return raster;
}

/** Every code moved by up to 5 either way, and a black mark of 200 x 100 px, so that there is something to see as well. */
function worn(raster: Raster, next: () => number): Raster {
	const rgba = raster.rgba.map((code, at) => (at % 4 === 3 ? code : code + 10 * (next() - 0.5)));
	for (let yPx = 500; yPx < 600; yPx += 1) {
		for (let xPx = 900; xPx < 1100; xPx += 1) rgba.set([0, 0, 0], (yPx * WIDTH_PX + xPx) * 4);
	}
	return { ...raster, rgba };
}

function greyImage({ y, widthPx, heightPx }: Planes) {
	const data = new Uint8ClampedArray(widthPx * heightPx * 4);
	for (const [at, code] of y.entries()) data.set([code, code, code, 255], at * 4);
	return { data, width: widthPx, height: heightPx };
}

function patchPairs(next: () => number): (readonly [Rgb, Rgb])[] {
	const colour = (): Rgb => [Math.floor(256 * next()), Math.floor(256 * next()), Math.floor(256 * next())];
	return Array.from({ length: 24 }, () => [colour(), colour()] as const);
}

function named([red, green, blue]: Rgb) {
	return { mode: 'rgb', r: red / 255, g: green / 255, b: blue / 255 } as const;
}

/** Mean of one code in a thousand or so: a value to compare that takes no time of its own. */
function meanOfSome(codes: Uint8Array): number {
	let sum = 0;
	for (let at = 0; at < codes.length; at += 1009) sum += codes[at]!;
	return sum / Math.ceil(codes.length / 1009);
}

/** Luma only, one call of the real-valued conversion a pixel. */
function lumaPixelByPixel({ rgba }: Raster, into: Uint8Array): Uint8Array {
	for (let at = 0; at < into.length; at += 1) {
		const rgb: Rgb = [rgba[4 * at]!, rgba[4 * at + 1]!, rgba[4 * at + 2]!];
		into[at] = Math.round(rgbToYCbCr(rgb, BT709_LIMITED)[0]);
	}
	return into;
}

function sumOver<T>(items: readonly T[], amount: (item: T) => number): number {
	return items.reduce((sum, item) => sum + amount(item), 0);
}

function median(samples: readonly number[]): number {
	const sorted = samples.toSorted((a, b) => a - b);
	return sorted[Math.floor(sorted.length / 2)]!;
}
