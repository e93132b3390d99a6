import fc from 'fast-check';
import { expect, test } from 'vitest';
import { type LumaPlane, lumaOf } from '../../src/imaging/planes.ts';
import { encodeFrameNumber, FRAME_NUMBERS } from '../../src/pattern/frameCode.ts';
import { type CodeGeometry, cardGeometry } from '../../src/pattern/geometry.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { readFrameCode } from '../../src/reading/frameCode.ts';
import { allCards, cardOf } from '../pattern/cards.ts';
import { addNoise, blur, coarseBlocks, gainAndOffset, repeatable } from './degrade.ts';

const spec = cardOf('easy');
const geometry = cardGeometry(spec);
const painter = createCardPainter(spec);
const frameNumbers = fc.integer({ min: 0, max: FRAME_NUMBERS - 1 });
const STRIP = { xPx: geometry.code.rect.xPx, yPx: geometry.code.rect.yPx };

test.each(allCards)('a drawn $difficulty $size card is read as the number it was drawn with', (card) => {
	const cardPainter = createCardPainter(card);
	fc.assert(
		fc.property(frameNumbers, (frameNumber) => {
			const luma = lumaOf(cardPainter.paintPlanes(frameNumber));
			expect(readFrameCode(luma, cardGeometry(card))).toEqual({ kind: 'read', frameNumber });
		}),
		{ numRuns: 25, examples: [[0], [1], [FRAME_NUMBERS - 1]] },
	);
});

test.each([
	['noise of deviation 40', (luma, random) => addNoise(luma, 40, random)],
	[
		'an eighth of the contrast and noise of 4',
		(luma, random) => addNoise(gainAndOffset(luma, 0.125, 90), 4, random),
	],
	['full range instead of limited', (luma) => gainAndOffset(luma, 255 / 219, -18.6)],
	['too much light, so that white clips', (luma) => gainAndOffset(luma, 1.6, 40)],
	['blur over 9 x 9 pixels', (luma) => blur(luma, 4)],
	['blur over 7 x 7 pixels and noise of 25', (luma, random) => addNoise(blur(luma, 3), 25, random)],
	['8 x 8 transform steps of 120 codes', (luma) => coarseBlocks(luma, 120)],
	[
		'a dark picture in coarse steps after noise',
		(luma, random) => coarseBlocks(addNoise(gainAndOffset(luma, 0.4, 0), 10, random), 60),
	],
] as const satisfies readonly (readonly [string, (luma: LumaPlane, random: () => number) => LumaPlane])[])(
	'a frame number survives %s',
	(_, degrade) => {
		fc.assert(
			fc.property(frameNumbers, fc.nat(1e9), (frameNumber, seed) => {
				const luma = degrade(stripOf(frameNumber), repeatable(seed));
				expect(readFrameCode(luma, geometry, STRIP)).toEqual({ kind: 'read', frameNumber });
			}),
			{ numRuns: 15 },
		);
	},
);

test('a crop that starts at the strip, and a plane with padded rows, are read like the whole picture', () => {
	const whole = lumaOf(painter.paintPlanes(987_654));
	const expected = { kind: 'read', frameNumber: 987_654 };
	expect(readFrameCode(whole, geometry)).toEqual(expected);
	expect(readFrameCode(stripOf(987_654), geometry, STRIP)).toEqual(expected);
	const stride = whole.stride + 37;
	const padded = new Uint8Array(stride * whole.heightPx).fill(99);
	for (let row = 0; row < whole.heightPx; row++)
		padded.set(whole.data.subarray(row * whole.stride, row * whole.stride + whole.widthPx), row * stride);
	expect(readFrameCode({ ...whole, data: padded, stride }, geometry)).toEqual(expected);
});

test('strips that are black, white, mid grey or half black are refused for want of contrast', () => {
	for (const level of [0, 16, 128, 235, 255]) expect(reasonOf(strip(() => level))).toBe('lowContrast');
	expect(reasonOf(strip((column) => (column < 24 ? 16 : 235)))).toBe('lowContrast');
	expect(reasonOf(strip((column) => (column < 24 ? 235 : 16)))).toBe('lowContrast');
});

test('strips black above and white below, or the other way, have contrast and fail the check', () => {
	expect(reasonOf(strip((_, row) => (row === 0 ? 16 : 235)))).toBe('checkFailed');
	expect(reasonOf(strip((_, row) => (row === 0 ? 235 : 16)))).toBe('checkFailed');
});

test('a strip seen upside down or in negative is refused', () => {
	const bits = encodeFrameNumber(4711, geometry.code.layoutMark);
	expect(reasonOf(strip((column, row) => (bits[column] === row ? 235 : 16)))).toBe('checkFailed');
});

/**
 * Every one of these strips has full contrast in every pair, so only the check stands in the way. It holds by chance once in
 * 2^16: 1.5 of 100,000 expected, and more than 8 in fewer than one set of strips in 10,000 (Poisson). That the layout
 * mark then also fits comes once in 2^24: none is expected to be read.
 */
test('of 100,000 random strips with full contrast none is read and the check holds by chance only', () => {
	const code: CodeGeometry = {
		...geometry.code,
		cellPx: 2,
		rect: { xPx: 0, yPx: 0, widthPx: 96, heightPx: 4 },
	};
	const random = repeatable(20_240_611);
	const data = new Uint8Array(96 * 4);
	const luma = { data, stride: 96, widthPx: 96, heightPx: 4 };
	const counts = { read: 0, lowContrast: 0, checkFailed: 0, otherCard: 0, tooSmall: 0 };
	for (let strips = 0; strips < 100_000; strips++) {
		for (let column = 0; column < 48; column++) {
			const upper = random() < 0.5 ? 16 : 235;
			for (let row = 0; row < 4; row++)
				data.fill(row < 2 ? upper : 251 - upper, row * 96 + column * 2, row * 96 + column * 2 + 2);
		}
		const reading = readFrameCode(luma, { code });
		counts[reading.kind === 'read' ? 'read' : reading.reason]++;
	}
	expect(counts).toMatchObject({ read: 0, lowContrast: 0, tooSmall: 0 });
	expect(counts.otherCard).toBeLessThanOrEqual(8);
	expect(counts.checkFailed + counts.otherCard).toBe(100_000);
});

test('pure noise is refused for want of contrast', () => {
	const random = repeatable(5);
	for (let strips = 0; strips < 200; strips++) {
		const luma = addNoise(
			strip(() => 128),
			60,
			random,
		);
		expect(reasonOf(luma)).toBe('lowContrast');
	}
});

test('two frames mixed half and half are unreadable, not a third number', () => {
	const one = stripOf(1000);
	const other = stripOf(1001);
	const data = one.data.map((code, at) => Math.round((code + other.data[at]!) / 2));
	expect(reasonOf({ ...one, data })).toBe('lowContrast');
});

test('a sound strip of another layout is named as such', () => {
	const bits = encodeFrameNumber(12, 0x22);
	expect(reasonOf(strip((column, row) => (bits[column] !== row ? 235 : 16)))).toBe('otherCard');
});

test('a plane that does not hold the whole strip is too small', () => {
	const whole = lumaOf(painter.paintPlanes(3));
	const { xPx, yPx, widthPx, heightPx } = geometry.code.rect;
	const reason = (luma: LumaPlane, origin = { xPx: 0, yPx: 0 }) => {
		const reading = readFrameCode(luma, geometry, origin);
		return reading.kind === 'unreadable' ? reading.reason : reading.kind;
	};
	expect(reason({ ...whole, widthPx: xPx + widthPx - 1 })).toBe('tooSmall');
	expect(reason({ ...whole, heightPx: yPx + heightPx - 1 })).toBe('tooSmall');
	expect(reason({ ...whole, widthPx: xPx + widthPx, heightPx: yPx + heightPx })).toBe('read');
	expect(reason(whole, { xPx: xPx + 1, yPx })).toBe('tooSmall');
	expect(reason({ ...whole, data: whole.data.subarray(0, 100) })).toBe('tooSmall');
});

/** The strip alone, as a page copies it out of a decoded frame. */
function stripOf(frameNumber: number): LumaPlane {
	const { y, yStride } = painter.paintPlanes(frameNumber);
	const { xPx, yPx, widthPx, heightPx } = geometry.code.rect;
	const data = new Uint8Array(widthPx * heightPx);
	for (let row = 0; row < heightPx; row++) {
		const from = (yPx + row) * yStride + xPx;
		data.set(y.subarray(from, from + widthPx), row * widthPx);
	}
	return { data, stride: widthPx, widthPx, heightPx };
}

/** A strip from the level of each cell; row 0 is the upper one. */
function strip(levelAt: (column: number, row: number) => number): LumaPlane {
	const { widthPx, heightPx } = geometry.code.rect;
	const { cellPx } = geometry.code;
	const data = Uint8Array.from({ length: widthPx * heightPx }, (_, at) =>
		levelAt(Math.floor((at % widthPx) / cellPx), Math.floor(at / widthPx / cellPx)),
	);
	return { data, stride: widthPx, widthPx, heightPx };
}

function reasonOf(luma: LumaPlane): string {
	const reading = readFrameCode(luma, geometry, STRIP);
	return reading.kind === 'unreadable' ? reading.reason : `read as ${reading.frameNumber}`;
}
