import { expect, test } from 'vitest';
import { picturesOf, storyOf } from '../../bench/packetLog.ts';
import type { UdpRelayLog } from '../../src/transports/udpRelay.ts';

type Row = UdpRelayLog['rows'][number];

const PERIOD_MS = 40;
const COUNT = 200;
const shownMs = Array.from({ length: COUNT }, (_, i) => 1000 + i * PERIOD_MS);
const VIDEO = 96;
const AGAIN = 97;

function packet(picture: number, { inMs, outMs, type = VIDEO, firstStamp = 5000 }: PacketOf): Row {
	return [0, inMs, inMs, outMs, 1000, (firstStamp + picture * PERIOD_MS * 90) % 2 ** 32, type];
}
type PacketOf = { inMs: number; outMs: number | null; type?: number; firstStamp?: number };

/** Three packets a picture, 10 ms after it was shown, let through 5 ms later; `outOf` may change that. */
function logOf(outOf: (picture: number, part: number) => number | null, firstStamp = 5000): Row[] {
	return shownMs.flatMap((shown, picture) =>
		[0, 1, 2].map((part) => {
			const inMs = shown + 10 + part;
			const changed = outOf(picture, part);
			return packet(picture, { inMs, outMs: changed === null ? null : inMs + changed, firstStamp });
		}),
	);
}

function log(rows: Row[]): UdpRelayLog {
	return { zeroMs: 0, rows: rows.toSorted((a, b) => a[1] - b[1]), forgottenCount: 0 };
}

test('a picture is whole with its last packet, and is laid beside the instant at which it was shown', () => {
	const other: Row = [1, 1000, 1000, 1001, 80, null, null];
	const pictures = picturesOf(log([...logOf(() => 5), other]), shownMs);
	expect(pictures).toEqual(
		shownMs.map((shown) => ({ shownMs: shown, firstOutMs: shown + 15, wholeMs: shown + 17 })),
	);
});

test('time stamps may run past their greatest number in the middle of a run', () => {
	const near = 2 ** 32 - 100 * PERIOD_MS * 90;
	const pictures = picturesOf(log(logOf(() => 5, near)), shownMs);
	expect(pictures.map(({ wholeMs }) => wholeMs)).toEqual(shownMs.map((shown) => shown + 17));
});

test('a lost packet is waited for until it comes again, those behind it wait too, and a picture sent twice is whole once', () => {
	const rows = logOf((picture, part) => (picture === 50 && part === 1 ? null : 5));
	const again = packet(50, { inMs: shownMs[50]! + 90, outMs: shownMs[50]! + 95, type: AGAIN });
	// Sent again without need, as senders do when they try how much the way takes.
	const needless = packet(20, { inMs: shownMs[20]! + 300, outMs: shownMs[20]! + 305, type: AGAIN });
	const pictures = picturesOf(log([...rows, again, needless]), shownMs);
	const wholeAfter = (i: number): number => pictures[i]!.wholeMs - shownMs[50]!;
	expect([49, 50, 51, 52, 53].map(wholeAfter)).toEqual([-23, 95, 95, 97, 137]);
	expect(pictures[20]?.wholeMs).toBe(shownMs[20]! + 17);
	expect(pictures[21]?.wholeMs).toBe(shownMs[21]! + 17);
});

test('a picture that never became whole is not in the log', () => {
	const pictures = picturesOf(
		log(logOf((picture, part) => (picture === 9 && part === 2 ? null : 5))),
		shownMs,
	);
	expect(pictures).toHaveLength(COUNT - 1);
	expect(pictures.map((one) => one.shownMs)).not.toContain(shownMs[9]);
});

test('gaps, freezes, oldest age and time over the limit are those of an outage of 600 ms', () => {
	// Pictures 100 to 114 are held until the outage ends, 600 ms after picture 100 would have come.
	const endMs = shownMs[100]! + 15 + 600;
	const outOf = (picture: number, part: number): number =>
		Math.max(5, picture < 100 ? 5 : endMs - (shownMs[picture]! + 10 + part));
	const pictures = picturesOf(log(logOf(outOf)), shownMs);
	const story = storyOf(pictures, { fromMs: 2000, toMs: 8000, restMs: 20, limitMs: 240 });
	expect(Math.max(...story.gapsMs)).toBeCloseTo(endMs - (shownMs[99]! + 17), 6);
	expect(story.freezeCount(0)).toBe(1);
	// A window that begins or ends within the outage meets it too; one that ends 100 ms after its begin, no freeze yet.
	const within = { fromMs: 2000, toMs: 8000, restMs: 20, limitMs: 240 };
	expect(storyOf(pictures, { ...within, fromMs: endMs - 100 }).freezeCount(0)).toBe(1);
	expect(storyOf(pictures, { ...within, toMs: endMs - 100 }).freezeCount(0)).toBe(1);
	const early = storyOf(pictures, { ...within, toMs: shownMs[99]! + 37 + 100 });
	expect([early.freezeCount(0), early.freezeCount(100)]).toEqual([0, 1]);
	// Picture 99 stands until 600 ms and a bit after picture 100 was due to be seen.
	const oldestMs = endMs + 20 - shownMs[99]!;
	expect(Math.abs(story.oldestMs - oldestMs)).toBeLessThanOrEqual(1);
	expect(story.overLimitRatio).toBeCloseTo((oldestMs - 240) / 6000, 3);
	const calm = storyOf(picturesOf(log(logOf(() => 5)), shownMs), {
		...{ fromMs: 2000, toMs: 8000, restMs: 20, limitMs: 240 },
	});
	expect([calm.freezeCount(0), calm.overLimitRatio]).toEqual([0, 0]);
	expect(calm.oldestMs).toBeGreaterThan(75);
	expect(calm.oldestMs).toBeLessThanOrEqual(77);
});
