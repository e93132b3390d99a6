/** Picture measures against known truth: edges, noise, the printed card at many turns, and series over time. */
import { decodeSrgb, encodeSrgb } from '../src/colour/srgbTransfer.ts';
import { blockSsim } from '../src/imaging/blockSsim.ts';
import { measureEdge } from '../src/imaging/edgeResponse.ts';
import { gaussianSsim } from '../src/imaging/gaussianSsim.ts';
import { measureNoise } from '../src/imaging/noise.ts';
import { type LumaPlane, lumaOf } from '../src/imaging/planes.ts';
import { createRaster, type Raster } from '../src/imaging/raster.ts';
import { rasterToPlanes } from '../src/imaging/rasterToPlanes.ts';
import { createRealPlane, type RealPlane } from '../src/imaging/realPlane.ts';
import { measureLensClear } from '../src/metrics/lensClear.ts';
import { measurePulseKept } from '../src/metrics/pulseKept.ts';
import { detailPatches } from '../src/pattern/detailCard.ts';
import { readDetail, readPatchParts } from '../src/reading/detailCardReading.ts';
import { findDetailCard } from '../src/reading/findDetailCard.ts';
import { createRandom } from '../src/statistics/random.ts';
import { madeEdge, withNoise } from '../tests/imaging/madeEdges.ts';
import { blurred, coarse, noisy, texturedPlane } from '../tests/imaging/madePictures.ts';
import { cardPicture, type View } from '../tests/reading/madeCardPicture.ts';
import { gaussianEdgeRows } from '../tests/vectors/imagingEdges.ts';

export type Accuracy = {
	readonly what: string;
	readonly truth: string;
	readonly reading: string;
	readonly goal: string;
	readonly met: string;
};

export const SEED = 60606;

export function accuracyRows(quick: boolean): Accuracy[] {
	return [...edgeRows(quick), ...noiseRows(), ...cardRows(), ...overTimeRows(), likenessRow()];
}

const VIEWS: readonly View[] = [
	{ turnDeg: 0 },
	{ turnDeg: 33 },
	{ turnDeg: 95, tilt: 0.1 },
	{ turnDeg: 180, tilt: 0.15 },
	{ turnDeg: -20, bend: -0.15 },
	{ turnDeg: 60, bend: 0.1 },
].map((view) => ({ widthPx: 1000, heightPx: 1000, pxPerMm: 7.8, noiseCodes: 1, ...view }));

function edgeRows(quick: boolean): Accuracy[] {
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

export function row(what: string, { reading, goal }: { reading: number; goal: number }): Accuracy {
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
		{
			what: 'the same picture 16 times',
			truth: 'nothing moves',
			reading: frozenWords(pictures[0]!),
			goal: '0, frozen',
			met: frozenWords(pictures[0]!) === '0, frozen' ? 'yes' : 'NO',
		},
		row('signal to noise', { reading: Math.abs(noise.signalToNoise! / snr - 1), goal: 0.03 }),
	];
}

function frozenWords(picture: RealPlane): string {
	const still = measureNoise(Array.from({ length: 16 }, () => picture));
	return still.kind === 'notMeasured' ? still.reason : `${still.temporal}${still.frozen ? ', frozen' : ''}`;
}

/** Block against Gaussian similarity on made pictures, worn as codecs and lenses wear them. */
function likenessRow(): Accuracy {
	const wears = [
		(plane: LumaPlane) => noisy(plane, 1.5, 31),
		(plane: LumaPlane) => noisy(plane, 4, 21),
		(plane: LumaPlane) => noisy(plane, 30, 22),
		blurred,
		(plane: LumaPlane) => coarse(plane, 12),
	];
	let worst = 0;
	for (const seed of [11, 12, 13]) {
		const picture = texturedPlane([640, 360], seed);
		for (const wear of wears) {
			const other = wear(picture);
			worst = Math.max(worst, Math.abs(blockSsim(picture, other) - gaussianSsim(picture, other)));
		}
	}
	return {
		what: 'block SSIM against Gaussian, 3 pictures worn in 5 ways, worst',
		truth: 'off by 0',
		reading: worst.toFixed(4),
		goal: '<= 0.003',
		met: worst <= 0.003 ? 'yes' : 'NO',
	};
}

function cardRows(): Accuracy[] {
	let worstCode = 0;
	const middles = VIEWS.map((view) => {
		const raster = cardPicture(view);
		const found = findDetailCard(lumaOf(rasterToPlanes(raster, { matrix: '709', range: 'full' })));
		if (found.kind === 'notMeasured') throw new Error(found.explanation);
		const parts = readPatchParts(raster, found.pose, 2);
		for (const [i, { rgb }] of detailPatches.entries())
			for (const c of [0, 1, 2] as const) {
				const mean = parts.reduce((sum, part) => sum + part[i]![c] / parts.length, 0);
				worstCode = Math.max(worstCode, Math.abs(mean - rgb[c]));
			}
		const mtf = readDetail([softened(raster)], found.pose, null).edges.map(({ mtf50CyPx }) => mtf50CyPx);
		return mtf.toSorted((a, b) => a - b)[mtf.length >> 1]!;
	});
	const worst = Math.max(...middles.map((middle) => Math.abs(middle / middles[0]! - 1)));
	return [
		row(`MTF50, ${VIEWS.length} turns, tilts and bends, against square on`, { reading: worst, goal: 0.03 }),
		{
			what: `patch means, ${VIEWS.length} views of ${detailPatches.length} patches, worst`,
			truth: 'off by 0',
			reading: `${worstCode.toFixed(2)} codes`,
			goal: '<= 0.3 codes',
			met: worstCode <= 0.3 ? 'yes' : 'NO',
		},
	];
}

function overTimeRows(): Accuracy[] {
	const random = createRandom(SEED + 2);
	const lens = Array.from({ length: 300 }, (_, i) => {
		const atMs = 40 * i;
		const back = 0.3 - 0.22 * Math.exp(-(atMs - 5000) / 700);
		return { atMs, value: (atMs < 2000 ? 0.3 : atMs < 5000 ? 0.08 : back) + 0.001 * random.normal() };
	});
	const clear = measureLensClear(lens, { cleanUntilMs: 2000, flushMs: 5000 });
	const offMs =
		clear.kind === 'measured' && clear.toNineTenthsMs !== null
			? Math.abs(clear.toNineTenthsMs - 700 * Math.log(10))
			: Number.POSITIVE_INFINITY;
	const pulses = [15, 28, 44, 60].map((ratePerMin) => {
		const place = (atMs: number): number => 1.2 * Math.cos((2 * Math.PI * ratePerMin * atMs) / 60_000);
		const times = Array.from({ length: 500 }, (_, i) => 40 * i);
		return measurePulseKept(
			times.map((atMs) => ({ atMs, px: place(atMs) })),
			times.map((atMs) => ({ atMs, px: 0.8 * place(atMs - 130) + 0.15 * random.normal() })),
		);
	});
	const read = pulses.filter((pulse) => pulse.kind === 'measured');
	const kept = Math.max(...read.map(({ keptRatio }) => Math.abs(keptRatio / 0.8 - 1)));
	const lagMs = Math.max(...read.map((pulse) => Math.abs(pulse.lagMs - 130)));
	return [
		milliseconds('time to clear, 25/s', { readingMs: offMs, goalMs: 40 }),
		row('pulse of 1.2 px at 15 to 60 a minute, amplitude', { reading: kept, goal: 0.05 }),
		milliseconds('… its lag', { readingMs: lagMs, goalMs: 20 }),
	];
}

export function milliseconds(
	what: string,
	{ readingMs, goalMs }: { readonly readingMs: number; readonly goalMs: number },
): Accuracy {
	return {
		what,
		truth: 'off by 0',
		reading: `${readingMs.toFixed(1)} ms`,
		goal: `<= ${goalMs} ms`,
		met: readingMs <= goalMs ? 'yes' : 'NO',
	};
}

export function softened({ widthPx, heightPx, rgba }: Raster): Raster {
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
