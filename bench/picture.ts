/**
 * Picture fidelity: known truth in, reading out; then what each measure costs on 1920 x 1080, beside general-purpose libraries on the
 * same pixels; then how the measures follow real H.264 and JPEG at falling quality.
 *
 *   npx tsx bench/picture.ts [--quick] [--json]
 *
 * One thread, seeded. A star marks a peer that measures by other blocks. Exit code 1: a goal was missed.
 */
import pixelmatch from 'pixelmatch';
import { ssim } from 'ssim.js';
import { findColourFault } from '../src/colour/colourFault.ts';
import type { Rgb } from '../src/colour/rgb.ts';
import { decodeSrgb, encodeSrgb } from '../src/colour/srgbTransfer.ts';
import { BT709_LIMITED } from '../src/colour/yCbCr.ts';
import { measureBlockiness } from '../src/imaging/blockiness.ts';
import { blockSsim } from '../src/imaging/blockSsim.ts';
import { measureEdge } from '../src/imaging/edgeResponse.ts';
import { gaussianSsim } from '../src/imaging/gaussianSsim.ts';
import { meanSquaredError, psnrDb } from '../src/imaging/meanSquaredError.ts';
import { measureNoise } from '../src/imaging/noise.ts';
import { lumaOf, type Planes } from '../src/imaging/planes.ts';
import { createRaster, type Raster } from '../src/imaging/raster.ts';
import { rasterToPlanes } from '../src/imaging/rasterToPlanes.ts';
import { createRealPlane } from '../src/imaging/realPlane.ts';
import { spatialInformation, temporalInformation } from '../src/imaging/spatialTemporal.ts';
import { openH264Decoder } from '../src/media/node/h264Decoder.ts';
import { openH264Encoder } from '../src/media/node/h264Encoder.ts';
import { decodeJpeg, encodeJpeg } from '../src/media/node/jpeg.ts';
import type { CardSpec } from '../src/pattern/card.ts';
import { drawDetailCard } from '../src/pattern/detailRaster.ts';
import { createCardPainter } from '../src/pattern/painter.ts';
import { cardPatches } from '../src/pattern/patches.ts';
import { readDetail, readPatchParts } from '../src/reading/detailCardReading.ts';
import { findDetailCard } from '../src/reading/findDetailCard.ts';
import { createLinkDetailReader } from '../src/reading/linkDetail.ts';
import { readPatchColours } from '../src/reading/patchColours.ts';
import { createRandom } from '../src/statistics/random.ts';
import { madeEdge, withNoise } from '../tests/imaging/madeEdges.ts';
import { gaussianEdgeRows } from '../tests/vectors/imagingEdges.ts';
import { benchContext, printTable } from './benchReport.ts';

const SEED = 60606;
const quick = process.argv.includes('--quick');
const json = process.argv.includes('--json');
const CARD: CardSpec = { layout: 'link', size: '1920x1080', seed: 1, difficulty: 'hard' };

type Accuracy = {
	readonly what: string;
	readonly truth: string;
	readonly reading: string;
	readonly goal: string;
	readonly met: string;
};
type Speed = {
	readonly what: string;
	readonly ms: string;
	readonly value: string;
	readonly peer: string;
	readonly 'peer ms': string;
	readonly 'peer value': string;
};
type Quality = Readonly<Record<string, string | number>>;

const accuracy: Accuracy[] = [...edgeRows(), ...noiseRows()];
const drawn = createCardPainter(CARD).paintPlanes(0);
const card = copied(drawn);
const quality = { h264: await h264Rows(), jpeg: jpegRows() };
const speed = speedRows();
const missed = accuracy.filter(({ met }) => met === 'NO').length;

if (json)
	console.log(
		JSON.stringify(
			{ bench: 'picture', context: benchContext(), seed: SEED, quick, accuracy, quality, speed },
			null,
			'\t',
		),
	);
else {
	const { commit, node, cpu, loadAverage } = benchContext();
	console.log(
		`Picture fidelity; seed ${SEED}${quick ? '; quick' : ''}; commit ${commit}, node ${node}, ${cpu}, load ${loadAverage}\n`,
	);
	printTable(accuracy);
	console.log('\nThe link card, 1920 x 1080, through x264 at falling bitrate (8 pictures, the last read)');
	if (quality.h264.length === 0) console.log('not run: the codec package is not installed');
	printTable(quality.h264);
	console.log('\nThe printed card through JPEG, falling quality');
	printTable(quality.jpeg);
	console.log('\nOne picture of 1920 x 1080, one thread, median of turns');
	printTable(speed);
	console.log('\n* other blocks or another scale: its value need not agree');
}
process.exitCode = missed > 0 ? 1 : 0;

function edgeRows(): Accuracy[] {
	const rows: Accuracy[] = [];
	for (const angleDeg of [3, 5, 10, 15]) {
		const off = gaussianEdgeRows.map(
			([sigmaPx, truth]) => mtf50({ sigmaPx, angleDeg, contrast: 4 }) / truth - 1,
		);
		rows.push(
			row(`MTF50, ${angleDeg} degrees, blur 0.5 to 2 px`, {
				reading: Math.max(...off.map(Math.abs)),
				goal: 0.02,
			}),
		);
	}
	const count = quick ? 20 : 100;
	for (const contrast of [2, 4, 20]) {
		const clean = madeEdge({ sidePx: 100, sigmaPx: 1, angleDeg: 5, contrast });
		const random = createRandom(SEED + contrast);
		const readings = Array.from({ length: count }, () => {
			const edge = measureEdge(withNoise(clean, 0.8 / 20, random));
			return edge.kind === 'measured' && edge.mtf50CyPx !== null ? edge.mtf50CyPx / 0.17996 - 1 : 1;
		});
		const mean = readings.reduce((sum, value) => sum + value, 0) / count;
		const scatter = Math.sqrt(readings.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (count - 1));
		rows.push(row(`MTF50, ${contrast}:1, SNR 20, mean of ${count}`, { reading: Math.abs(mean), goal: 0.02 }));
		rows.push({ ...row('… scatter of a single one', { reading: scatter, goal: 1 }), goal: 'told', met: '' });
	}
	return rows;
}

function mtf50({
	sigmaPx,
	angleDeg,
	contrast,
}: {
	sigmaPx: number;
	angleDeg: number;
	contrast: number;
}): number {
	const edge = measureEdge(madeEdge({ sidePx: 100, sigmaPx, angleDeg, contrast }));
	return edge.kind === 'measured' ? (edge.mtf50CyPx ?? 0) : 0;
}

function row(what: string, { reading, goal }: { reading: number; goal: number }): Accuracy {
	return {
		what,
		truth: 'off by 0',
		reading: percent(reading),
		goal: `<= ${percent(goal)}`,
		met: reading <= goal ? 'yes' : 'NO',
	};
}

function percent(ratio: number): string {
	return `${(100 * ratio).toFixed(2)} %`;
}

function noiseRows(): Accuracy[] {
	const random = createRandom(SEED);
	const pattern = Array.from({ length: 64 * 64 }, () => 2 * random.normal());
	const pictures = Array.from({ length: 16 }, () => {
		const plane = createRealPlane(64, 64);
		for (let at = 0; at < plane.data.length; at++)
			plane.data[at] = 120 + 0.03 * (at % 64) + pattern[at]! + 3 * random.normal();
		return plane;
	});
	const noise = measureNoise(pictures);
	if (noise.kind === 'notMeasured') return [];
	const snr = (120 + 0.03 * 31.5) / Math.hypot(3, 2);
	return [
		row('temporal noise, 16 pictures', { reading: Math.abs(noise.temporal! / 3 - 1), goal: 0.03 }),
		row('fixed pattern', { reading: Math.abs(noise.fixedPattern / 2 - 1), goal: 0.03 }),
		row('signal to noise', { reading: Math.abs(noise.signalToNoise! / snr - 1), goal: 0.03 }),
	];
}

async function h264Rows(): Promise<Quality[]> {
	const read = createLinkDetailReader(CARD);
	const expected = cardPatches(CARD).map(({ rgb }) => rgb);
	const rows: Quality[] = [];
	for (const bitrateKbps of quick ? [12_000, 2_000, 600] : [20_000, 12_000, 6_000, 3_000, 1_500, 600]) {
		const decoded = await throughH264(card, bitrateKbps).catch(() => null);
		if (decoded === null) return [];
		const detail = read(decoded, card);
		const finding = findColourFault(expected, readPatchColours(decoded, CARD).map(cut));
		rows.push({
			'kbit/s': bitrateKbps,
			'MTF50 of drawn': (
				(detail.edges[0]?.mtf50CyPx ?? 0) / (detail.edges[0]?.referenceMtf50CyPx ?? 1)
			).toFixed(3),
			'2 px lines': detail.lines.find(({ width }) => width === 2)?.lumaRatio.toFixed(3) ?? '',
			blocks: detail.blockinessRatio?.toFixed(2) ?? '',
			bleed: detail.chromaBleedRatio?.toFixed(3) ?? '',
			'mean dE00': finding.meanDeltaE00.toFixed(2),
			fault: finding.kind === 'named' ? finding.words : finding.kind,
			SSIM: blockSsim(lumaOf(card), lumaOf(decoded)).toFixed(4),
		});
	}
	return rows;
}

function cut([r, g, b]: Rgb): Rgb {
	const code = (value: number): number => Math.min(255, Math.max(0, value));
	return [code(r), code(g), code(b)];
}

async function throughH264(planes: Planes, bitrateKbps: number): Promise<Planes> {
	const { widthPx, heightPx } = planes;
	const encoder = await openH264Encoder({ widthPx, heightPx, rateHz: 30, bitrateKbps, keyEveryFrames: 30 });
	const decoder = await openH264Decoder();
	let last: Planes | null = null;
	for (let frame = 0; frame < 8; frame++) {
		const decoded = decoder.decode(encoder.encode(planes).bytes, frame);
		if (decoded !== null) last = copied(decoded.planes);
	}
	encoder.close();
	decoder.close();
	if (last === null) throw new Error('the codec gave no picture');
	return last;
}

function copied({ widthPx, heightPx, y, u, v, yStride, uvStride }: Planes): Planes {
	return { widthPx, heightPx, y: y.slice(), u: u.slice(), v: v.slice(), yStride, uvStride };
}

function jpegRows(): Quality[] {
	const raster = softened(drawDetailCard(12));
	const found = findDetailCard(lumaOf(rasterToPlanes(raster, { matrix: '709', range: 'full' })));
	if (found.kind === 'notMeasured') throw new Error(found.explanation);
	return [95, 75, 50, 25, 10].map((level) => {
		const worn = decodeJpeg(encodeJpeg(raster, level));
		const detail = readDetail([worn], found.pose, null);
		const mtf = detail.edges.map(({ mtf50CyPx }) => mtf50CyPx).toSorted((a, b) => a - b);
		const line = detail.lines.find(({ width, axis }) => width === 0.15 && axis === 'across');
		return {
			quality: level,
			MTF50: (mtf[mtf.length >> 1] ?? 0).toFixed(3),
			'0.15 mm, light': line?.lumaRatio.toFixed(2) ?? '',
			'0.15 mm, colour': line?.chromaRatio?.toFixed(2) ?? '',
			blocks: measureBlockiness(lumaOf(rasterToPlanes(worn, BT709_LIMITED))).ratio.toFixed(2),
		};
	});
}

/** Mean over 3 x 3 in linear light, so that there is a picture and not a drawing. */
function softened({ widthPx, heightPx, rgba }: Raster): Raster {
	const soft = createRaster(widthPx, heightPx);
	const light = Float32Array.from(rgba, (code) => decodeSrgb(code));
	for (let row = 1; row < heightPx - 1; row++)
		for (let column = 1; column < widthPx - 1; column++)
			for (let channel = 0; channel < 3; channel++) {
				const at = 4 * (row * widthPx + column) + channel;
				let sum = 0;
				for (const down of [-4 * widthPx, 0, 4 * widthPx])
					sum += light[at + down - 4]! + light[at + down]! + light[at + down + 4]!;
				soft.rgba[at] = encodeSrgb(sum / 9);
			}
	return soft;
}

function speedRows(): Speed[] {
	const before = madePicture(createRandom(SEED).next);
	const after = { ...before, rgba: before.rgba.slice() };
	const random = createRandom(SEED + 1);
	for (let at = 0; at < after.rgba.length; at++)
		if (at % 4 !== 3) after.rgba[at] = after.rgba[at]! + 8 * (random.next() - 0.5);
	const [a, b] = [rasterToPlanes(before, BT709_LIMITED), rasterToPlanes(after, BT709_LIMITED)];
	const [lumaA, lumaB] = [lumaOf(a), lumaOf(b)];
	const [greyA, greyB] = [greyImage(a), greyImage(b)];
	const theirs = (variant: 'original' | 'fast' | 'weber' | 'bezkrovny') => () =>
		ssim(greyA, greyB, { ssim: variant, downsample: false }).mssim;
	const printed = drawDetailCard(13.3);
	const found = findDetailCard(lumaOf(rasterToPlanes(printed, BT709_LIMITED)));
	const read = createLinkDetailReader(CARD);
	const edge = madeEdge({ sidePx: 100, sigmaPx: 1, angleDeg: 5, contrast: 4 });
	const out = new Uint8Array(before.rgba.length);
	const rows = [
		timed('block SSIM', () => blockSsim(lumaA, lumaB), ['ssim.js fast', theirs('fast')]),
		timed('Gaussian SSIM', () => gaussianSsim(lumaA, lumaB), ['ssim.js bezkrovny *', theirs('bezkrovny')]),
		timed('PSNR, dB', () => psnrDb(meanSquaredError(lumaA, lumaB)) ?? 0, null),
		timed('blockiness', () => measureBlockiness(lumaB).ratio, [
			'pixelmatch, px *',
			() => pixelmatch(before.rgba, after.rgba, out, 1920, 1080),
		]),
		timed('spatial information', () => spatialInformation(lumaA), null),
		timed('temporal information', () => temporalInformation(lumaA, lumaB), null),
		timed('one edge of 100 x 100 px', () => (measureEdge(edge).kind === 'measured' ? 1 : 0), null),
		timed('whole detail of the link card', () => read(card, card).lines.length, null),
		timed(
			'finding the printed card',
			() => (findDetailCard(lumaOf(rasterToPlanes(printed, BT709_LIMITED))).kind === 'found' ? 1 : 0),
			null,
		),
	];
	if (found.kind === 'found') {
		rows.push(
			timed('patches of the printed card', () => readPatchParts(printed, found.pose, 2).length, null),
		);
		rows.push(
			timed('detail of the printed card', () => readDetail([printed], found.pose, null).edges.length, null),
		);
	}
	return rows;
}

function timed(what: string, ours: () => number, peer: readonly [string, () => number] | null): Speed {
	const [ms, value] = medianTime(ours, quick ? 5 : 15);
	const theirs = peer === null ? null : medianTime(peer[1], quick ? 1 : 3);
	return {
		what,
		ms: ms.toFixed(2),
		value: value.toPrecision(6),
		peer: peer?.[0] ?? '',
		'peer ms': theirs === null ? '' : theirs[0].toFixed(1),
		'peer value': theirs === null ? '' : theirs[1].toPrecision(6),
	};
}

function medianTime(work: () => number, turns: number): readonly [ms: number, value: number] {
	let value = turns > 1 ? work() : 0;
	const times = Array.from({ length: turns }, () => {
		const start = performance.now();
		value = work();
		return performance.now() - start;
	}).toSorted((x, y) => x - y);
	return [times[times.length >> 1]!, value];
}

function madePicture(next: () => number): Raster {
	const raster = createRaster(1920, 1080);
	for (let at = 0; at < 1920 * 1080; at++) {
		const x = at % 1920;
		const y = Math.floor(at / 1920);
		const shade =
			120 +
			60 * Math.sin(x / 140) * Math.cos(y / 110) +
			30 * Math.sin(0.2 * x + 0.13 * y) +
			16 * (next() - 0.5);
		raster.rgba.set([1.15 * shade, 0.8 * shade, 0.7 * shade, 255], 4 * at);
	}
	return raster;
}

function greyImage({ y, widthPx, heightPx }: Planes) {
	const data = new Uint8ClampedArray(widthPx * heightPx * 4);
	for (let at = 0; at < y.length; at++) data.fill(y[at]!, 4 * at, 4 * at + 4);
	return { data, width: widthPx, height: heightPx };
}
