import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { BT709_LIMITED } from '../../src/colour/yCbCr.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { DIFFICULTIES } from '../../src/pattern/card.ts';
import { FRAME_NUMBERS } from '../../src/pattern/frameCode.ts';
import { cardGeometry } from '../../src/pattern/geometry.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { cardPatches } from '../../src/pattern/patches.ts';
import { allCards, cardOf } from './cards.ts';

/**
 * What each card's bytes must be, on any machine. A change here changes every stored reference picture: raise the
 * edition in `layoutMarks` with it.
 */
const pinned: Readonly<Record<string, readonly string[]>> = {
	'1280x720 easy': ['cf581b55d7027d5a', '5f21a277a9037282', '8d531c4282d95579', '803574e5f9ceb7f8'],
	'1280x720 hard': ['3575bf31ac4043ea', '7d0826db28e2d998', '977b36809a9c434e', '66bbf3d4b1dd7f1c'],
	'1920x1080 easy': ['a15a5b7ccda5052e', 'b4b0066a5c9f63c3', '1702fc709876d652', '6f4ff0caae30cc34'],
	'1920x1080 hard': ['5096080010864a3e', '9e0e9c32af3083a9', '83328e2674f451b4', 'd139380805c40a52'],
	'1280x960 easy': ['52735a399199df13', '164938eef4a5df97', '0832f027d161ec7f', '586d72a96cf83e7e'],
	'1280x960 hard': ['04fed47d852433fb', 'a5dbaa3f2ea40ec5', 'b4d11c7e2291185a', '49c7cee7102af380'],
	'1280x720 motion': ['3a5de9403eae9708', 'fc6e82d2cfd4f726', '4e612363c472e4fb', '860c292c1eaaf053'],
	'1920x1080 motion': ['81156c5de8ec6a19', '92640f9862d3f8ac', '6fb552f67270b679', 'e7d7f3b76098e565'],
	'1280x960 motion': ['b622a9779ad182b3', 'a390fb428697c5f7', 'c09aab1a9f9b281d', 'da1b055ce86cd72b'],
};

const PINNED_FRAMES = [0, 1, 299, FRAME_NUMBERS - 1] as const;

test.each(allCards)('the $difficulty $size card is drawn the same to the byte everywhere', (spec) => {
	const painter = createCardPainter(spec);
	const hashes = PINNED_FRAMES.map((frameNumber) => hashOf(painter.paint(frameNumber).rgba));
	expect(hashes).toEqual(pinned[`${spec.size} ${spec.difficulty}`]);
});

test.each(allCards)('a $difficulty $size frame does not depend on the frames painted before it', (spec) => {
	const wanderer = createCardPainter(spec);
	for (const frameNumber of [5, 9_999_999, 3, 40]) wanderer.paint(frameNumber);
	const fresh = createCardPainter(spec).paint(77);
	expect(hashOf(wanderer.paint(77).rgba)).toBe(hashOf(fresh.rgba));
});

test.each(DIFFICULTIES)('planes updated in part equal planes converted whole (%s)', (difficulty) => {
	const painter = createCardPainter(cardOf(difficulty));
	for (const frameNumber of [0, 1, 2, 500, 4, 16_000_000]) {
		// A frame painted without its planes must not be forgotten.
		painter.paint(frameNumber + 7);
		const planes = painter.paintPlanes(frameNumber);
		const whole = rasterToPlanes(painter.paint(frameNumber), BT709_LIMITED);
		expect(Buffer.compare(planes.y, whole.y)).toBe(0);
		expect(Buffer.compare(planes.u, whole.u)).toBe(0);
		expect(Buffer.compare(planes.v, whole.v)).toBe(0);
	}
});

test('the same raster and the same planes are handed out again', () => {
	const painter = createCardPainter(cardOf('easy'));
	expect(painter.paint(1)).toBe(painter.paint(2));
	expect(painter.paintPlanes(1)).toBe(painter.paintPlanes(2));
});

test('another seed draws another card, and no frame looks like the next', () => {
	for (const difficulty of ['easy', 'hard'] as const) {
		const one = createCardPainter(cardOf(difficulty, 1));
		const other = createCardPainter(cardOf(difficulty, 2));
		expect(hashOf(one.paint(10).rgba)).not.toBe(hashOf(other.paint(10).rgba));
		const hashes = Array.from({ length: 50 }, (_, frameNumber) => hashOf(one.paint(frameNumber).rgba));
		expect(new Set(hashes).size).toBe(50);
	}
});

test('the moving region moves in every frame, and nothing outside the strip, the figures and it does', () => {
	for (const difficulty of ['easy', 'hard'] as const) {
		const spec = cardOf(difficulty);
		const painter = createCardPainter(spec);
		const { moving, code, figures, widthPx } = cardGeometry(spec);
		const parts = [moving, code.rect, figures];
		for (const frameNumber of [0, 99, 1000]) {
			const before = painter.paint(frameNumber).rgba.slice();
			const after = painter.paint(frameNumber + 1).rgba;
			const changedIn = new Set<number>();
			for (let at = 0; at < after.length; at += 4) {
				if (before[at] === after[at] && before[at + 1] === after[at + 1] && before[at + 2] === after[at + 2])
					continue;
				const xPx = (at / 4) % widthPx;
				const yPx = Math.floor(at / 4 / widthPx);
				changedIn.add(
					parts.findIndex(
						(part) =>
							xPx >= part.xPx &&
							xPx < part.xPx + part.widthPx &&
							yPx >= part.yPx &&
							yPx < part.yPx + part.heightPx,
					),
				);
			}
			expect([...changedIn].sort()).toEqual([0, 1, 2]);
		}
	}
});

test('every pixel is opaque and every patch is flat in its own colour', () => {
	const spec = cardOf('hard');
	const { rgba, widthPx } = createCardPainter(spec).paint(42);
	for (let at = 3; at < rgba.length; at += 4)
		if (rgba[at] !== 255) throw new Error(`pixel ${at >> 2} is not opaque`);
	for (const { rect, rgb } of cardPatches(spec)) {
		fc.assert(
			fc.property(fc.nat(rect.widthPx - 1), fc.nat(rect.heightPx - 1), (dx, dy) => {
				const at = ((rect.yPx + dy) * widthPx + rect.xPx + dx) * 4;
				expect([...rgba.subarray(at, at + 3)]).toEqual(rgb);
			}),
			{ numRuns: 10 },
		);
	}
});

test('a seed or frame number that does not fit is the caller’s mistake', () => {
	expect(() => createCardPainter(cardOf('easy', -1))).toThrow(RangeError);
	expect(() => createCardPainter(cardOf('easy', 2 ** 32))).toThrow(RangeError);
	expect(() => createCardPainter(cardOf('easy')).paint(FRAME_NUMBERS)).toThrow(RangeError);
});

function hashOf(bytes: Uint8ClampedArray): string {
	return createHash('sha256').update(bytes).digest('hex').slice(0, 16);
}
