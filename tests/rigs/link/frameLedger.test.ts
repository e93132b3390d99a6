import fc from 'fast-check';
import { expect, test } from 'vitest';
import { FATES } from '../../../src/observations/records.ts';
import { FrameLedger, type SeenRow } from '../../../src/rigs/link/frameLedger.ts';

const AHEAD_MS = 7000;
const PERIOD_MS = 33;

function ledgerOf(count: number, viewerPoint: 'presented' | 'decoded' = 'presented'): FrameLedger {
	const ledger = new FrameLedger({ lostAfterMs: 500, viewerPoint, aheadMs: () => AHEAD_MS });
	for (let frameNumber = 0; frameNumber < count; frameNumber++) ledger.sent(frame(frameNumber));
	return ledger;
}

function frame(frameNumber: number) {
	return {
		frameNumber,
		dueMs: frameNumber * PERIOD_MS,
		shownMs: frameNumber * PERIOD_MS + 1,
		key: frameNumber % 8 === 0,
	};
}

/** A row of a picture that took `delayMs` to be decoded, and 5 ms more to be drawn. */
function row(packet: number, { code = packet as number | null, delayMs = 40, drawn = true } = {}): SeenRow {
	const decodedMs = AHEAD_MS + packet * PERIOD_MS + 1 + delayMs;
	return [packet, code, decodedMs - 1, decodedMs, drawn ? decodedMs + 5 : null];
}

function fates(ledger: FrameLedger): Record<number, string> {
	return Object.fromEntries(ledger.takeRows().map(([frameNumber, , , fate]) => [frameNumber, FATES[fate]!]));
}

test('each frame gets the class of what happened to it', () => {
	const ledger = ledgerOf(7);
	ledger.seen(
		[row(0), row(1, { drawn: false }), row(2, { code: null }), row(4), row(3), row(5, { delayMs: 501 })],
		400,
	);
	ledger.close('lost');
	expect(fates(ledger)).toEqual({
		0: 'presented',
		1: 'notDrawn',
		2: 'unreadable',
		3: 'overtaken',
		4: 'presented',
		5: 'late',
		6: 'lost',
	});
	expect(ledger.takeNotes()).toMatchObject([{ code: 'outOfOrder', frameNumber: 3 }]);
});

test('a presented frame keeps its viewer instants as reported; no other has an instant of being seen', () => {
	const ledger = ledgerOf(4);
	ledger.seen([row(0), row(1, { drawn: false }), row(3), row(2)], 200);
	const rows = ledger.takeRows();
	expect(rows.slice(0, 2)).toEqual([
		[0, 0, 1, 0, AHEAD_MS + 41, AHEAD_MS + 46],
		[1, 33, 34, 1, AHEAD_MS + 74, null],
	]);
	// Overtaken: drawn, yet behind a newer picture.
	expect(rows.find(([frameNumber]) => frameNumber === 2)?.[5]).toBeNull();
});

test('where the end point is decoded, drawing is not asked for', () => {
	const ledger = ledgerOf(1, 'decoded');
	ledger.seen([row(0, { drawn: false })], 100);
	expect(ledger.takeRows()).toEqual([[0, 0, 1, 0, AHEAD_MS + 41, AHEAD_MS + 41]]);
});

test('a frame is lost only when it has been silent for the stated time and the grace of a report', () => {
	const ledger = ledgerOf(1);
	ledger.expire(1 + 500 + 1499);
	expect(ledger.pendingCount).toBe(1);
	ledger.expire(1 + 500 + 1500);
	expect(fates(ledger)).toEqual({ 0: 'lost' });
	ledger.seen([row(0)], 2100);
	expect(ledger.takeNotes()).toMatchObject([{ code: 'seenAfterLost', frameNumber: 0 }]);
});

test('the code in the picture is the truth, not the number of the packet', () => {
	const ledger = ledgerOf(3);
	ledger.seen([row(1, { code: 0 })], 100);
	ledger.close('lost');
	expect(fates(ledger)).toEqual({ 0: 'presented', 1: 'lost', 2: 'lost' });
	expect(ledger.takeNotes()).toMatchObject([{ code: 'codeMismatch', frameNumber: 0 }]);
});

test('after a lost packet and until the next key picture, a code that differs from its packet is a broken picture', () => {
	const ledger = ledgerOf(11);
	const numbers = [0, 1, 2, 3, 5, 6, 7, 8, 9, 10];
	// Frame 4 is lost; 5 happens to be read right, 6 comes out as the valid code of 4; 10 as that of 9, with all there.
	const codes: Record<number, number> = { 6: 4, 9: 10, 10: 9 };
	ledger.seen(
		numbers.map((packet) => row(packet, { code: codes[packet] ?? packet })),
		600,
	);
	ledger.close('lost');
	expect(fates(ledger)).toMatchObject({
		4: 'lost',
		5: 'presented',
		6: 'unreadable',
		9: 'overtaken',
		10: 'presented',
	});
});

test('a code that was never shown makes the packet unreadable and is named', () => {
	const ledger = ledgerOf(2);
	ledger.seen([row(1, { code: 900 })], 100);
	expect(fates(ledger)).toEqual({ 1: 'unreadable' });
	expect(ledger.takeNotes().map(({ code }) => code)).toEqual(['codeMismatch', 'foreignCode']);
});

test('a frame seen twice counts once and is named as repeated', () => {
	const ledger = ledgerOf(1);
	ledger.seen([row(0), row(0)], 100);
	expect(fates(ledger)).toEqual({ 0: 'presented' });
	expect(ledger.takeNotes()).toMatchObject([{ code: 'repeated', frameNumber: 0 }]);
});

test('a report may come before the news of the sending', () => {
	const ledger = ledgerOf(1);
	ledger.seen([row(0), row(1), row(2)], 100);
	expect(fates(ledger)).toEqual({ 0: 'presented' });
	ledger.sent(frame(1));
	ledger.sent(frame(2));
	expect(fates(ledger)).toEqual({ 1: 'presented', 2: 'presented' });
});

test('a report of a frame that is never sent is named and forgotten', () => {
	const ledger = ledgerOf(1);
	ledger.seen([row(4_000_000_000)], 100);
	ledger.expire(1200);
	expect(ledger.takeNotes()).toMatchObject([{ code: 'reportedUnsent', frameNumber: 4_000_000_000 }]);
});

test('when the viewer leaves, frames after the newest seen were observed by nobody', () => {
	const ledger = ledgerOf(6);
	ledger.seen([row(0), row(3)], 200);
	ledger.close('unobserved');
	expect(fates(ledger)).toEqual({ 0: 'presented', 1: 'lost', 2: 'lost', 3: 'presented' });
	expect(ledger.pendingCount).toBe(0);
});

test('after the end, a frame shown before it may still be told of, and one shown after it is not counted', () => {
	const ledger = ledgerOf(3);
	ledger.stopAccepting(4 * PERIOD_MS);
	for (const frameNumber of [3, 4]) ledger.sent(frame(frameNumber));
	ledger.seen([row(0), row(1), row(2), row(3), row(4)], 400);
	ledger.expire(10_000);
	expect(Object.keys(fates(ledger))).toEqual(['0', '1', '2', '3']);
	expect(ledger.takeNotes()).toEqual([]);
});

test('whatever is reported in whatever order, every frame sent is in exactly one class', () => {
	const report = fc.record({
		packet: fc.integer({ min: 0, max: 30 }),
		code: fc.option(fc.integer({ min: 0, max: 30 })),
		delayMs: fc.integer({ min: 0, max: 900 }),
		drawn: fc.boolean(),
	});
	fc.assert(
		fc.property(fc.array(report, { maxLength: 60 }), (reports) => {
			const ledger = ledgerOf(20);
			for (const { packet, ...rest } of reports) ledger.seen([row(packet, rest)], 700);
			ledger.close('lost');
			const numbers = ledger.takeRows().map(([frameNumber]) => frameNumber);
			expect(numbers.toSorted((a, b) => a - b)).toEqual(Array.from({ length: 20 }, (_, i) => i));
		}),
	);
});

/** A picture of a WebRTC stream: no packet tells its number. */
function bare(code: number | null, at = code ?? 0, drawn = true): SeenRow {
	const [, , receivedMs, decodedMs, presentedMs] = row(at, { drawn });
	return [null, code, receivedMs, decodedMs, presentedMs];
}

test('without packet numbers the code alone tells the frame, and what no picture told of is lost', () => {
	const ledger = ledgerOf(7);
	ledger.seen([bare(0), bare(1, 1, false), bare(4), bare(3, 4), bare(4, 5), bare(5)], 400);
	ledger.close('lost');
	expect(fates(ledger)).toEqual({
		0: 'presented',
		1: 'notDrawn',
		2: 'lost',
		3: 'overtaken',
		4: 'presented',
		5: 'presented',
		6: 'lost',
	});
	expect(ledger.takeNotes().map(({ code }) => code)).toEqual(['outOfOrder', 'repeated']);
});

test('a bare picture that cannot be read stands for a frame between its neighbours, never for one that was seen', () => {
	const ledger = ledgerOf(8);
	// One unreadable where one is missing; one where two are; one where none is; two at the end that nothing follows.
	ledger.seen(
		[bare(0), bare(null, 1), bare(2), bare(null, 4), bare(5), bare(null, 5), bare(6), bare(null, 7)],
		400,
	);
	ledger.close('lost');
	expect(fates(ledger)).toEqual({
		0: 'presented',
		1: 'unreadable',
		2: 'presented',
		3: 'lost',
		4: 'unreadable',
		5: 'presented',
		6: 'presented',
		7: 'lost',
	});
	expect(ledger.takeNotes().map(({ code }) => code)).toEqual(new Array(4).fill('unreadablePicture'));
});

test('a bare code that was never sent is no frame, and holds up none that come after it', () => {
	const ledger = ledgerOf(3);
	ledger.seen([bare(0), bare(9_000_000, 1), bare(1), bare(2)], 400);
	expect(fates(ledger)).toEqual({ 0: 'presented', 1: 'presented', 2: 'presented' });
	expect(ledger.takeNotes()).toMatchObject([{ code: 'foreignCode', frameNumber: 9_000_000 }]);
});

test('bare pictures told of before the news of their sending keep their order, unreadable ones among them', () => {
	const ledger = ledgerOf(1);
	ledger.seen([bare(0), bare(1), bare(null, 2), bare(3)], 100);
	for (const number of [1, 2, 3]) ledger.sent(frame(number));
	expect(fates(ledger)).toEqual({ 0: 'presented', 1: 'presented', 2: 'unreadable', 3: 'presented' });
});

/** As a page tells it that takes pictures from a video element: when they were decoded is not known. */
const drawn = (code: number): SeenRow => {
	const [, , receivedMs] = row(code);
	return [null, code, receivedMs, null, receivedMs + 5];
};
const neverShown = (at: number): SeenRow => [null, null, row(at)[2], null, null];

test('a picture that a browser counted and never showed is not drawn, as far as one is missing there, and decoded stays unknown', () => {
	const ledger = ledgerOf(6);
	// Two were counted where one is missing, and one where two are: what is missing beyond the count is lost.
	ledger.seen([drawn(0), neverShown(1), neverShown(1), drawn(2), neverShown(4), drawn(5)], 400);
	ledger.close('lost');
	const rows = ledger.takeRows();
	expect(Object.fromEntries(rows.map(([number, , , fate]) => [number, FATES[fate]]))).toEqual({
		0: 'presented',
		1: 'notDrawn',
		2: 'presented',
		3: 'lost',
		4: 'notDrawn',
		5: 'presented',
	});
	expect(rows.map(([, , , , decodedMs]) => decodedMs)).toEqual(new Array(6).fill(null));
	expect(ledger.takeNotes()).toEqual([]);
});
