/**
 * How often the frame code is read from what is no frame code, how long a read takes, and how long a card takes to draw.
 *
 *   npx tsx bench/codeReading.ts [--quick] [--json]
 *
 * Wrong reads: seeded strips of three kinds, none of them a drawn card. `bits`: every pair of cells at full contrast with a
 * random sign, the worst there is, for only the check stands in the way. `grey`: every cell a random grey with noise.
 * `textures`: random cuttings of a made picture with shading, grain, texture and hard edges. Cells are 4 px here, so that
 * noise averages out less than in the card's 16 px and millions of strips take seconds. Each kind shows how many passed the
 * contrast gate, for how many the check held (whatever card it names), and how many were read; the bound is Poisson's,
 * one-sided 95 %.
 *
 * Times are wall times of one thread, median of the single calls.
 */
import { lumaOf } from '../src/imaging/planes.ts';
import { CARD_SIZES, type CardSpec } from '../src/pattern/card.ts';
import { CODE_BITS } from '../src/pattern/frameCode.ts';
import { type CodeGeometry, cardGeometry } from '../src/pattern/geometry.ts';
import { createCardPainter } from '../src/pattern/painter.ts';
import { readFrameCode } from '../src/reading/frameCode.ts';
import { poissonUpper } from '../src/statistics/poissonRate.ts';
import { createRandom, type Random } from '../src/statistics/random.ts';
import { benchContext, printTable } from './benchReport.ts';

const SEED = 20_240_611;
const CELL_PX = 4;
const WIDTH_PX = CODE_BITS * CELL_PX;
const HEIGHT_PX = 2 * CELL_PX;
const PICTURE_PX = 1024;
const GRAIN_COUNT = 65_521;
const quick = process.argv.includes('--quick');
const stripsEach = quick ? 500_000 : 5_000_000;
const framesEach = quick ? 60 : 300;

type Fill = (data: Uint8Array) => void;
const kinds: readonly (readonly [string, (random: Random) => Fill])[] = [
	['bits', randomBits],
	['grey', randomGrey],
	['textures', textures],
];

const falseReads = kinds.map(([kind, create], index) => countReads(kind, create(createRandom(SEED + index))));
const times = CARD_SIZES.flatMap((size) =>
	(['easy', 'hard'] as const).map((difficulty) => timeCard({ layout: 'link', size, seed: 7, difficulty })),
);
const context = benchContext();

if (process.argv.includes('--json')) console.log(JSON.stringify({ context, seed: SEED, falseReads, times }));
else {
	console.log(`frame code, seed ${SEED}, commit ${context.commit}, node ${context.node}, ${context.cpu}`);
	console.log(`load average ${context.loadAverage}\n`);
	printTable(falseReads);
	console.log('\nms, median');
	printTable(times);
}

function countReads(kind: string, fill: Fill) {
	const { layoutMark } = cardGeometry({
		layout: 'link',
		size: '1280x720',
		seed: 0,
		difficulty: 'easy',
	}).code;
	const rect = { xPx: 0, yPx: 0, widthPx: WIDTH_PX, heightPx: HEIGHT_PX };
	const code: CodeGeometry = { rect, cellPx: CELL_PX, columns: CODE_BITS, layoutMark };
	const data = new Uint8Array(WIDTH_PX * HEIGHT_PX);
	const luma = { data, stride: WIDTH_PX, widthPx: WIDTH_PX, heightPx: HEIGHT_PX };
	const counts = { read: 0, lowContrast: 0, checkFailed: 0, otherCard: 0, tooSmall: 0 };
	for (let strip = 0; strip < stripsEach; strip++) {
		fill(data);
		const reading = readFrameCode(luma, { code });
		counts[reading.kind === 'read' ? 'read' : reading.reason]++;
	}
	const millions = stripsEach / 1e6;
	const checkHeld = counts.read + counts.otherCard;
	return {
		kind,
		strips: stripsEach,
		passedContrast: stripsEach - counts.lowContrast,
		checkHeldPerMillion: round(checkHeld / millions),
		wrongPerMillion: round(counts.read / millions),
		wrongAtMostPerMillion: round(poissonUpper(counts.read, 0.95) / millions),
	};
}

function randomBits(random: Random): Fill {
	return (data) => {
		for (let column = 0; column < CODE_BITS; column++) {
			const upper = random.next() < 0.5 ? 16 : 235;
			fillPair(data, column, [upper, 251 - upper]);
		}
	};
}

function randomGrey(random: Random): Fill {
	// Drawn once and cut at a random place for each strip: drawing 1,536 numbers a strip would take the bench's time.
	const grain = Int8Array.from({ length: GRAIN_COUNT }, () => random.integer(33) - 16);
	return (data) => {
		for (let column = 0; column < CODE_BITS; column++)
			fillPair(data, column, [random.integer(256), random.integer(256)]);
		const cut = random.integer(GRAIN_COUNT - data.length);
		for (let at = 0; at < data.length; at++)
			data[at] = Math.min(255, Math.max(0, data[at]! + grain[cut + at]!));
	};
}

function fillPair(data: Uint8Array, column: number, levels: readonly [number, number]): void {
	for (let row = 0; row < HEIGHT_PX; row++) {
		const from = row * WIDTH_PX + column * CELL_PX;
		data.fill(levels[row < CELL_PX ? 0 : 1], from, from + CELL_PX);
	}
}

function textures(random: Random): Fill {
	const picture = madePicture(random);
	return (data) => {
		const left = random.integer(PICTURE_PX - WIDTH_PX);
		const top = random.integer(PICTURE_PX - HEIGHT_PX);
		for (let row = 0; row < HEIGHT_PX; row++) {
			const from = (top + row) * PICTURE_PX + left;
			data.set(picture.subarray(from, from + WIDTH_PX), row * WIDTH_PX);
		}
	};
}

/** Octaves of smooth noise from 256 px down to 4 px, 400 flat boxes with hard edges, and grain. */
function madePicture(random: Random): Uint8Array {
	const levels = new Float64Array(PICTURE_PX * PICTURE_PX).fill(128);
	for (let gridPx = 256; gridPx >= 4; gridPx /= 2) addOctave(levels, gridPx, random);
	for (let box = 0; box < 400; box++) {
		const widthPx = 4 + random.integer(120);
		const heightPx = 4 + random.integer(60);
		const left = random.integer(PICTURE_PX - widthPx);
		const top = random.integer(PICTURE_PX - heightPx);
		const level = random.integer(256);
		for (let row = top; row < top + heightPx; row++)
			levels.fill(level, row * PICTURE_PX + left, row * PICTURE_PX + left + widthPx);
	}
	return Uint8Array.from(levels, (level) => Math.min(255, Math.max(0, level + 6 * random.normal())));
}

function addOctave(levels: Float64Array, gridPx: number, random: Random): void {
	const side = PICTURE_PX / gridPx + 1;
	const knots = Float64Array.from(
		{ length: side * side },
		() => (random.next() - 0.5) * 12 * Math.sqrt(gridPx),
	);
	for (let at = 0; at < levels.length; at++) {
		const x = (at % PICTURE_PX) / gridPx;
		const y = Math.floor(at / PICTURE_PX) / gridPx;
		const knot = Math.floor(y) * side + Math.floor(x);
		const upper = between(knots[knot]!, knots[knot + 1]!, x % 1);
		const lower = between(knots[knot + side]!, knots[knot + side + 1]!, x % 1);
		levels[at]! += between(upper, lower, y % 1);
	}
}

function between(from: number, to: number, share: number): number {
	return from + (to - from) * share;
}

function timeCard(spec: CardSpec) {
	const painter = createCardPainter(spec);
	const geometry = cardGeometry(spec);
	painter.paintPlanes(0);
	const paintMs: number[] = [];
	const planesMs: number[] = [];
	const readMs: number[] = [];
	for (let frame = 1; frame <= framesEach; frame++) {
		paintMs.push(timed(() => painter.paint(frame + 1000)));
		planesMs.push(timed(() => painter.paintPlanes(frame)));
		const luma = lumaOf(painter.paintPlanes(frame));
		readMs.push(timed(() => readFrameCode(luma, geometry)));
	}
	return {
		card: `${spec.size} ${spec.difficulty}`,
		paint: median(paintMs),
		paintAndPlanes: median(planesMs),
		readCode: median(readMs),
	};
}

function timed(work: () => unknown): number {
	const start = performance.now();
	work();
	return performance.now() - start;
}

function median(values: readonly number[]): number {
	return round([...values].sort((one, other) => one - other)[values.length >> 1]!, 3);
}

function round(value: number, places = 2): number {
	return Number(value.toFixed(places));
}
