/**
 * Picture fidelity: known truth in, reading out; then what each measure costs on 1920 x 1080, beside general-purpose libraries on the
 * same pixels; then how the measures follow real H.264 and JPEG at falling quality.
 *
 *   npx tsx bench/picture.ts [--quick] [--json]
 *
 * One thread, seeded. A star marks a peer that measures by other blocks. Exit code 1: a goal was missed.
 */
import { findColourFault } from '../src/colour/colourFault.ts';
import type { Rgb } from '../src/colour/rgb.ts';
import { blockSsim } from '../src/imaging/blockSsim.ts';
import { lumaOf, type Planes } from '../src/imaging/planes.ts';
import { rasterToPlanes } from '../src/imaging/rasterToPlanes.ts';
import { openH264Decoder } from '../src/media/node/h264Decoder.ts';
import { openH264Encoder } from '../src/media/node/h264Encoder.ts';
import { decodeJpeg, encodeJpeg } from '../src/media/node/jpeg.ts';
import type { CardSpec } from '../src/pattern/card.ts';
import { drawDetailCard } from '../src/pattern/detailRaster.ts';
import { createCardPainter } from '../src/pattern/painter.ts';
import { cardPatches } from '../src/pattern/patches.ts';
import { readDetail } from '../src/reading/detailCardReading.ts';
import { findDetailCard } from '../src/reading/findDetailCard.ts';
import { createLinkDetailReader } from '../src/reading/linkDetail.ts';
import { readPatchColours } from '../src/reading/patchColours.ts';
import { benchContext, printTable } from './benchReport.ts';
import { accuracyRows, SEED, softened } from './pictureAccuracy.ts';
import { motionAccuracy } from './pictureMotion.ts';
import { blockSsimIsFast, speedRows } from './pictureSpeed.ts';

const quick = process.argv.includes('--quick');
const json = process.argv.includes('--json');
const CARD: CardSpec = { layout: 'link', size: '1920x1080', seed: 1, difficulty: 'hard' };

type Quality = Readonly<Record<string, string | number>>;

const accuracy = [...accuracyRows(quick), ...(await motionAccuracy(quick))];
const drawn = createCardPainter(CARD).paintPlanes(0);
const card = copied(drawn);
const quality = { h264: await h264Rows(), jpeg: jpegRows() };
const speed = await speedRows(CARD, quick);
const fastEnough = blockSsimIsFast(speed);
const missed = accuracy.filter(({ met }) => met === 'NO').length + (fastEnough ? 0 : 1);

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
	console.log(`\nblock SSIM at least 10 times as fast as ssim.js: ${fastEnough ? 'yes' : 'NO'}`);
	console.log('\n* other blocks or another scale: its value need not agree');
}
process.exitCode = missed > 0 ? 1 : 0;

async function h264Rows(): Promise<Quality[]> {
	const read = createLinkDetailReader(CARD);
	const expected = cardPatches(CARD).map(({ rgb }) => rgb);
	const rows: Quality[] = [];
	for (const bitrateKbps of quick ? [12_000, 2_000, 600] : [20_000, 12_000, 6_000, 3_000, 1_500, 600]) {
		const decoded = await throughH264(card, bitrateKbps).catch(() => null);
		if (decoded === null) return [];
		const detail = read(decoded, card, 7);
		const finding = findColourFault(expected, readPatchColours(decoded, CARD).map(cut));
		const kept = (places: readonly string[]): string => {
			const ratios = detail.edges
				.filter(({ place }) => places.includes(place))
				.map(({ mtf50CyPx, referenceMtf50CyPx }) => mtf50CyPx / (referenceMtf50CyPx ?? 1));
			return ratios.map((ratio) => ratio.toFixed(3)).join(' ');
		};
		const lines = detail.lines.filter(({ width }) => width === 2);
		rows.push({
			'kbit/s': bitrateKbps,
			'MTF50 of drawn, middle': kept(['left of the middle', 'right of the middle']),
			corners: kept(['lower left', 'lower right']),
			'2 px red lines, light': lines.map(({ lumaRatio }) => lumaRatio.toFixed(2)).join(' '),
			colour: lines.map(({ chromaRatio }) => (chromaRatio ?? 0).toFixed(2)).join(' '),
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

/** Truly copied: the decoder hands over Node buffers, whose `slice` is a view of its own memory. */
function copied({ y, u, v, ...rest }: Planes): Planes {
	return { ...rest, y: Uint8Array.from(y), u: Uint8Array.from(u), v: Uint8Array.from(v) };
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
		};
	});
}
