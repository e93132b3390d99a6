import fc from 'fast-check';
import { expect, test } from 'vitest';
import { BT709_LIMITED } from '../../src/colour/yCbCr.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { cardFlashAreas, greatestSafeCssWidth } from '../../src/pattern/cardFlashes.ts';
import { judgeFlashes } from '../../src/pattern/flashRule.ts';
import { cardGeometry } from '../../src/pattern/geometry.ts';
import { CELL_LIGHT } from '../../src/pattern/looks.ts';
import { markerPlaces } from '../../src/pattern/markerCard.ts';
import {
	labelCells,
	MARKER_COPIES,
	PAIRS,
	readLabel,
	SESSIONS,
	TICKS,
	tickOf,
	tickVector,
} from '../../src/pattern/markerCode.ts';
import { labelPlaces, MODULES, markerModules, pairPlaces } from '../../src/pattern/markerFace.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';

const card = { layout: 'scope', size: '1280x720', seed: 37, difficulty: 'easy', displayHz: 120 } as const;

test('any two ticks differ in at least four pairs, neighbours in four or five', () => {
	const words = Array.from({ length: TICKS }, (_, tick) => tickVector(tick));
	// The code is linear: the distance to word 0 over all words is the distance of any two.
	const zero = words[0]!;
	const distances = words.slice(1).map((word) => word.filter((value, pair) => value !== zero[pair]).length);
	expect(Math.min(...distances)).toBe(4);
	for (const [tick, word] of words.entries()) {
		const next = words[(tick + 1) % TICKS]!;
		const changed = word.filter((value, pair) => value !== next[pair]).length;
		expect(changed).toBeGreaterThanOrEqual(4);
		expect(changed).toBeLessThanOrEqual(5);
	}
});

test('a label reads back as written, and one wrong cell, or three, make it no label', () => {
	const label = fc.record({
		copy: fc.constantFrom(...MARKER_COPIES),
		rateHz: fc.constantFrom(null, 50, 60, 75, 90, 100, 120, 144),
		session: fc.integer({ min: 0, max: SESSIONS - 1 }),
	});
	fc.assert(
		fc.property(label, fc.uniqueArray(fc.nat(17), { minLength: 1, maxLength: 3 }), (written, wrong) => {
			const cells = labelCells(written);
			expect(readLabel(cells)).toEqual(written);
			for (const cell of wrong) cells[cell]! ^= 1;
			expect(readLabel(cells)).toBeNull();
		}),
	);
});

test('cells all light or all dark are no label', () => {
	expect(readLabel(new Uint8Array(18))).toBeNull();
	expect(readLabel(new Uint8Array(18).fill(1))).toBeNull();
});

test('59.94 and 60 Hz are one class of display, 65 Hz is none', () => {
	const classOf = (rateHz: number) => readLabel(labelCells({ copy: 'free', rateHz, session: 0 }))?.rateHz;
	expect(classOf(59.94)).toBe(60);
	expect(classOf(143.9)).toBe(144);
	expect(classOf(65)).toBeNull();
});

test('every cell inside the frame is a corner, half of one pair, or one cell of the label', () => {
	const places = [...pairPlaces.flat(), ...labelPlaces].map(({ column, row }) => row * MODULES + column);
	expect(places.length).toBe(2 * PAIRS + 18);
	expect(new Set(places).size).toBe(60);
});

test('the card shows its markers, apart from each other, all with the tick of the frame', () => {
	const places = markerPlaces(card);
	expect(places.map(({ label }) => label.copy)).toEqual(['scope', 'free', 'low']);
	expect(places[0]!.rect.yPx + places[0]!.rect.heightPx / 2).toBe(
		places[1]!.rect.yPx + places[1]!.rect.heightPx / 2,
	);
	for (const [i, { rect }] of places.entries()) {
		expect(
			rect.xPx >= 0 && rect.yPx >= 0 && rect.xPx + rect.widthPx <= 1280 && rect.yPx + rect.heightPx <= 720,
		).toBe(true);
		for (const other of places.slice(i + 1)) {
			const apart =
				rect.xPx + rect.widthPx <= other.rect.xPx ||
				rect.yPx + rect.heightPx <= other.rect.yPx ||
				other.rect.yPx + other.rect.heightPx <= rect.yPx;
			expect(apart).toBe(true);
		}
	}
	const frame = 5 * TICKS + 1234;
	const { rgba } = createCardPainter(card).paint(frame);
	for (const { rect, modulePx, label } of places) {
		const modules = markerModules(tickOf(frame), label);
		for (const [index, value] of modules.entries()) {
			const x = rect.xPx + ((index % MODULES) + 0.5) * modulePx;
			const y = rect.yPx + (Math.floor(index / MODULES) + 0.5) * modulePx;
			expect(rgba[4 * (y * 1280 + x)] === CELL_LIGHT[0]).toBe(value === 1);
		}
	}
});

test('the planes are the raster’s', () => {
	const painter = createCardPainter(card);
	painter.paintPlanes(7);
	const { y } = painter.paintPlanes(4095);
	expect(y).toEqual(rasterToPlanes(createCardPainter(card).paint(4095), BT709_LIMITED).y);
});

test('the card keeps the flash rule up to a width that is told, and not beyond it', () => {
	const width = greatestSafeCssWidth(card, 60);
	expect(width).toBeGreaterThan(300);
	expect(judgeFlashes(cardFlashAreas(card, width, 60)).pass).toBe(true);
	expect(judgeFlashes(cardFlashAreas(card, width + 20, 60)).pass).toBe(false);
	// Twice the rate makes one more bit fast.
	expect(greatestSafeCssWidth(card, 120)).toBeLessThan(width);
});

test('a card without markers has no places for them, a card of markers no code strip', () => {
	expect(() => markerPlaces({ ...card, layout: 'link' })).toThrow('has no markers');
	expect(() => cardGeometry(card)).toThrow('no card layout scope with a code strip');
	expect(() => tickVector(TICKS)).toThrow('below 4096');
});
