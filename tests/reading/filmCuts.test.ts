import { expect, test } from 'vitest';
import { findCuts } from '../../src/reading/filmCuts.ts';
import type { LinePiece } from '../../src/reading/laptopLine.ts';

/** A film at 100 frames a second whose card counts 60 ticks a second of true time, in two pieces. */
function twoPieces(jumpTicks: number, { stretch = 1, secondStretch = 0, unread = 0 } = {}) {
	const fileMs = Float64Array.from({ length: 1000 }, (_, i) => 500 + 10 * stretch * i);
	const piece = (from: number, until: number, offset: number, its: number): LinePiece => ({
		...{ from, until, originMs: fileMs[from]!, offset, slopePerMs: 0.06 / its, stretch: its },
		...{ tickMs: 1000 / 60, wrongCount: 0 },
	});
	const second = 400 + unread;
	return findCuts(fileMs, [
		piece(0, 400, 3000, stretch),
		piece(second, 1000, 3000 + 0.6 * second + jumpTicks, secondStretch || stretch),
	]);
}

test('a part that was cut out, or put in twice, is told by the card’s jump, wherever the file’s time goes on', () => {
	const [out] = twoPieces(120);
	expect(out!.atMs).toBeCloseTo(3990, 6);
	expect(out!.jumpMs).toBeCloseTo(2000, 6);
	expect(twoPieces(-90)[0]!.jumpMs).toBeCloseTo(-1500, 6);
	// Slow motion: the file's time runs eight times as long, the card's jump is in true time.
	const [slow] = twoPieces(30, { stretch: 8 });
	expect(slow!.atMs).toBeCloseTo(8 * 3990, 6);
	expect(slow!.jumpMs).toBeCloseTo(500, 6);
});

test('no cut is seen where the card runs on, was covered for a while, or the film’s speed changed', () => {
	expect(twoPieces(0)).toEqual([]);
	expect(twoPieces(0, { unread: 200 })).toEqual([]);
	expect(twoPieces(14)).toEqual([]);
	expect(twoPieces(120, { secondStretch: 4 })).toEqual([]);
});
