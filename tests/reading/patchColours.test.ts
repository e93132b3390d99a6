import { expect, test } from 'vitest';
import { createPlanes } from '../../src/imaging/planes.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { cardPatches } from '../../src/pattern/patches.ts';
import { readPatchColours } from '../../src/reading/patchColours.ts';
import { allCards, cardOf } from '../pattern/cards.ts';
import { repeatable } from './degrade.ts';

test.each(allCards)('every patch of the $difficulty $size card reads back within a code', (spec) => {
	const colours = readPatchColours(createCardPainter(spec).paintPlanes(31), spec);
	for (const [index, { name, rgb }] of cardPatches(spec).entries())
		for (const channel of [0, 1, 2] as const)
			expect(Math.abs(colours[index]![channel] - rgb[channel]), name).toBeLessThan(1);
});

test('noise averages out of a patch', () => {
	const spec = cardOf('easy');
	const planes = createCardPainter(spec).paintPlanes(31);
	const still = readPatchColours(planes, spec);
	const random = repeatable(11);
	for (const plane of [planes.y, planes.u, planes.v])
		for (let at = 0; at < plane.length; at++) plane[at] = plane[at]! + Math.floor(random() * 17) - 8;
	const noisy = readPatchColours(planes, spec);
	// Noise of 4.9 codes over 576 chroma samples: 0.2 codes of U, 0.4 of blue; four of those.
	for (const [index, colour] of noisy.entries())
		for (const channel of [0, 1, 2] as const)
			expect(Math.abs(colour[channel] - still[index]![channel])).toBeLessThan(2);
});

test('what happens at the edge of a patch does not enter its colour', () => {
	const spec = cardOf('easy');
	const planes = createCardPainter(spec).paintPlanes(31);
	const before = readPatchColours(planes, spec);
	const [patch] = cardPatches(spec);
	const { xPx, yPx, heightPx } = patch!.rect;
	for (let row = yPx; row < yPx + heightPx; row++)
		planes.y.fill(235, row * planes.yStride + xPx, row * planes.yStride + xPx + 15);
	expect(readPatchColours(planes, spec)).toEqual(before);
});

test('a colour is not rounded: one luma code in one pixel is seen', () => {
	const spec = cardOf('easy');
	const planes = createCardPainter(spec).paintPlanes(31);
	const [patch] = cardPatches(spec);
	const { xPx, yPx, widthPx, heightPx } = patch!.inner;
	const before = readPatchColours(planes, spec)[0]!;
	planes.y[yPx * planes.yStride + xPx]! += 1;
	const after = readPatchColours(planes, spec)[0]!;
	expect(after[1] - before[1]).toBeCloseTo(255 / 219 / (widthPx * heightPx), 9);
});

test('planes of another size are the caller’s mistake', () => {
	expect(() => readPatchColours(createPlanes(640, 360), cardOf('easy'))).toThrow(
		'the card is 1280 x 720, the planes are 640 x 360',
	);
});
