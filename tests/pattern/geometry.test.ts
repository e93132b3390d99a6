import { expect, test } from 'vitest';
import type { Rect } from '../../src/imaging/rect.ts';
import type { CardSpec } from '../../src/pattern/card.ts';
import { cardGeometry } from '../../src/pattern/geometry.ts';
import { cardPatches } from '../../src/pattern/patches.ts';
import { allCards, cardOf } from './cards.ts';

test.each(allCards)('no two parts of the $size card overlap and none leaves the picture', (spec) => {
	const { widthPx, heightPx, code, figures, patches, moving, detail } = cardGeometry(spec);
	const parts = [code.rect, figures, moving, detail, ...patches.map(({ rect }) => rect)];
	for (const [index, part] of parts.entries()) {
		expect(isInside(part, { xPx: 0, yPx: 0, widthPx, heightPx })).toBe(true);
		for (const other of parts.slice(index + 1)) expect(overlap(part, other)).toBe(false);
	}
});

test.each(allCards)('every part of the $size card starts and ends on an even pixel', (spec) => {
	const { code, figures, patches, moving, detail } = cardGeometry(spec);
	const parts = [code.rect, figures, moving, detail, ...patches.flatMap(({ rect, inner }) => [rect, inner])];
	for (const { xPx, yPx, widthPx, heightPx } of parts)
		for (const side of [xPx, yPx, widthPx, heightPx]) expect(side % 2).toBe(0);
});

test.each(allCards)('a patch of the $size card is read 16 px or more away from its edge', (spec) => {
	for (const { rect, inner } of cardPatches(spec)) {
		expect(inner.xPx - rect.xPx).toBeGreaterThanOrEqual(16);
		expect(inner.yPx - rect.yPx).toBeGreaterThanOrEqual(16);
		expect(rect.xPx + rect.widthPx - inner.xPx - inner.widthPx).toBeGreaterThanOrEqual(16);
		expect(rect.yPx + rect.heightPx - inner.yPx - inner.heightPx).toBeGreaterThanOrEqual(16);
	}
});

test('the field has at least 20 patches, 6 neutrals among them, each with a name of its own', () => {
	const patches = cardPatches(cardOf('easy'));
	expect(patches.length).toBe(cardGeometry(cardOf('easy')).patches.length);
	expect(patches.length).toBeGreaterThanOrEqual(20);
	expect(patches.filter(({ role }) => role === 'neutral').length).toBeGreaterThanOrEqual(6);
	expect(patches.filter(({ role }) => role === 'tissue').length).toBeGreaterThanOrEqual(8);
	expect(new Set(patches.map(({ name }) => name)).size).toBe(patches.length);
	for (const { role, rgb } of patches)
		if (role === 'neutral') expect(new Set(rgb).size).toBe(1);
		else expect(new Set(rgb).size).toBeGreaterThan(1);
});

test('a size or layout that does not exist is the caller’s mistake', () => {
	// Such a spec arrives from a message or a command line, where no type holds.
	const unknownSize = { ...cardOf('easy'), size: '640x480' } as unknown as CardSpec;
	const unknownLayout = { ...cardOf('easy'), layout: 'moon' } as unknown as CardSpec;
	expect(() => cardGeometry(unknownSize)).toThrow('there is no card size 640x480');
	expect(() => cardGeometry(unknownLayout)).toThrow('there is no card layout moon');
});

function isInside(part: Rect, whole: Rect): boolean {
	return (
		part.widthPx > 0 &&
		part.heightPx > 0 &&
		part.xPx >= whole.xPx &&
		part.yPx >= whole.yPx &&
		part.xPx + part.widthPx <= whole.xPx + whole.widthPx &&
		part.yPx + part.heightPx <= whole.yPx + whole.heightPx
	);
}

function overlap(one: Rect, other: Rect): boolean {
	return (
		one.xPx < other.xPx + other.widthPx &&
		other.xPx < one.xPx + one.widthPx &&
		one.yPx < other.yPx + other.heightPx &&
		other.yPx < one.yPx + one.heightPx
	);
}
