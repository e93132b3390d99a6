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
	'1280x720 easy': ['a4f68a8755913f4b', '876bd2fbcb98bc38', '3dde53e8b8b905f0', 'ef34733df9a0b862'],
	'1280x720 hard': ['8e639458ddf33518', '6d85c9cbd46918ca', '4524bb0669916ddd', '006f975a2096363b'],
	'1920x1080 easy': ['3291872449b5b3ec', 'c5f6eaee6b77d8e0', '14adaf1851f6c70c', '1d4fcb9329f4b168'],
	'1920x1080 hard': ['7a96a9154cd82896', '99623d8e846ba4aa', '1edafa737945986e', '9a2aa066448b1ee9'],
	'1280x960 easy': ['683657a8481de966', '13ef1af11fd6d88f', 'b9c6f9db85a1eb2a', '2a77daafb56134c6'],
	'1280x960 hard': ['247cd4e8ca01b1fe', 'ec1fa9d21eb086b1', '332b4ffa552e9564', '2e5a9d8901934adf'],
	'1280x720 motion': ['4b6a2021cc54baa4', '4cc286b5dabb89b7', '36d81fcb64104c56', '5652c9040934e831'],
	'1920x1080 motion': ['c1405adbc4a3e97c', 'c2ca20129b36fd3e', '1782e39e1c9663de', '1475ee550a57f1b1'],
	'1280x960 motion': ['16fc079cb249670e', 'b4872d48ef8e27d2', '62f913a6a2a752f0', 'dcf847ce7b8f8701'],
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
