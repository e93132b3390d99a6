import { expect, test } from 'vitest';
import type { Rgb } from '../../src/colour/rgb.ts';
import { srgbToXyz65 } from '../../src/colour/srgbToXyz65.ts';
import { cardFlashAreas, greatestSafeCssWidth } from '../../src/pattern/cardFlashes.ts';
import { type FlashArea, judgeFlashes } from '../../src/pattern/flashRule.ts';
import { cardGeometry } from '../../src/pattern/geometry.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { allCards, cardOf } from './cards.ts';

const TABLET_CSS_WIDTH = 1180;

test.each(allCards)(
	'the $difficulty $size card keeps the flash rule over the full width of a tablet',
	(spec) => {
		for (const rateHz of [24, 30, 60])
			expect(judgeFlashes(cardFlashAreas(spec, TABLET_CSS_WIDTH, rateHz))).toMatchObject({ pass: true });
	},
);

test.each(allCards)(
	'the $difficulty $size card breaks the rule just above its greatest safe width',
	(spec) => {
		const widest = greatestSafeCssWidth(spec);
		expect(judgeFlashes(cardFlashAreas(spec, widest)).pass).toBe(true);
		expect(judgeFlashes(cardFlashAreas(spec, widest + 1)).pass).toBe(false);
	},
);

test('all check cells and the fast number cells count, the slow ones do not', () => {
	const spec = cardOf('easy');
	const pairPx = 2 * cardGeometry(spec).code.cellPx ** 2;
	const unitsFigure = cardFlashAreas(spec, 1280, 60).find(({ name }) => name === 'figure 8')!;
	// At 60 frames a second bits 0 to 3 flash at 30, 15, 7.5 and 3.75 a second; bit 4 at 1.88.
	const expected = (16 + 4) * pairPx + unitsFigure.areaCssPx;
	expect(judgeFlashes(cardFlashAreas(spec, 1280, 60)).areaCssPx).toBeCloseTo(expected, 6);
	// At 30 frames a second bit 3 is slow too.
	expect(judgeFlashes(cardFlashAreas(spec, 1280, 30)).areaCssPx).toBeCloseTo(expected - pairPx, 6);
});

test('a card shown half as wide flashes over a quarter of the area', () => {
	const full = judgeFlashes(cardFlashAreas(cardOf('hard'), 1200)).areaCssPx;
	expect(judgeFlashes(cardFlashAreas(cardOf('hard'), 600)).areaCssPx).toBeCloseTo(full / 4, 6);
});

test.each(allCards)(
	'the moving region of the drawn $difficulty $size card stays within the levels told',
	(spec) => {
		const told = cardFlashAreas(spec, 1280).find(({ name }) => name === 'moving region')!;
		const seen = luminancesSeen(spec, [0, 1, 17, 123_456]);
		const [low, high] = luminanceOrder(told);
		expect(seen.least).toBeGreaterThanOrEqual(low - 1e-9);
		expect(seen.greatest).toBeLessThanOrEqual(high + 1e-9);
		expect(seen.greatest - seen.least).toBeLessThan(spec.difficulty === 'easy' ? 0.04 : 0.1);
		expect(judgeFlashes([told])).toMatchObject({ pass: true, flashesPerSecond: 0 });
	},
);

test('no colour the noise can take is a saturated red', () => {
	const told = cardFlashAreas(cardOf('hard'), 1280).find(({ name }) => name === 'moving region')!;
	const [low, high] = told.states;
	const reddest: Rgb = [high[0], low[1], low[2]];
	const leastRed: Rgb = [low[0], high[1], high[2]];
	expect(judgeFlashes([{ ...told, states: [reddest, leastRed] }]).pass).toBe(true);
});

test('a width of nothing is the caller’s mistake', () => {
	expect(() => cardFlashAreas(cardOf('easy'), 0)).toThrow(RangeError);
	expect(() => cardFlashAreas(cardOf('easy'), 1180, Number.NaN)).toThrow(RangeError);
});

function luminanceOrder({ states }: FlashArea): readonly [number, number] {
	const [first, second] = states.map((rgb) => srgbToXyz65(rgb)[1]) as [number, number];
	return first < second ? [first, second] : [second, first];
}

function luminancesSeen(spec: (typeof allCards)[number], frameNumbers: readonly number[]) {
	const painter = createCardPainter(spec);
	const { moving, widthPx } = cardGeometry(spec);
	const colours = new Set<number>();
	for (const frameNumber of frameNumbers) {
		const { rgba } = painter.paint(frameNumber);
		for (let row = moving.yPx; row < moving.yPx + moving.heightPx; row += 3)
			for (let column = moving.xPx; column < moving.xPx + moving.widthPx; column++) {
				const at = (row * widthPx + column) * 4;
				colours.add((rgba[at]! << 16) | (rgba[at + 1]! << 8) | rgba[at + 2]!);
			}
	}
	const luminances = [...colours].map((word) => srgbToXyz65([word >> 16, (word >> 8) & 255, word & 255])[1]);
	return luminances.reduce(
		({ least, greatest }, value) => ({ least: Math.min(least, value), greatest: Math.max(greatest, value) }),
		{ least: Infinity, greatest: -Infinity },
	);
}
