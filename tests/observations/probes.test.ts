import fc from 'fast-check';
import { expect, test } from 'vitest';
import { placeRun } from '../../src/observations/placeRun.ts';
import {
	keptSmall,
	type ProbePacket,
	packProbes,
	probePackets,
	unpackProbes,
} from '../../src/observations/probes.ts';
import { formatRecord, parseRecord } from '../../src/observations/recordText.ts';
import { ending, madeHeader, segment } from './madeRecords.ts';

const packet = fc.record({
	afterMs: fc.double({ min: 0, max: 500, noNaN: true }),
	delayMs: fc.option(fc.double({ min: -50, max: 4000, noNaN: true })),
});

function made(parts: readonly { afterMs: number; delayMs: number | null }[], aheadMs: number): ProbePacket[] {
	let sentMs = 1_000_000.25;
	return parts.map(({ afterMs, delayMs }, i) => {
		sentMs += afterMs;
		return { sequence: 70 + i, sentMs, receivedMs: delayMs === null ? null : sentMs + aheadMs + delayMs };
	});
}

test('a packed probe comes back to a thousandth of a millisecond, and a lost one stays lost', () => {
	fc.assert(
		fc.property(
			fc.array(packet, { minLength: 1, maxLength: 300 }),
			fc.double({ min: -1e9, max: 1e9, noNaN: true }),
			(parts, aheadMs) => {
				const packets = made(parts, aheadMs);
				const back = [...unpackProbes(packProbes(packets, { segment: 0, way: 'toViewer' }))];
				expect(back.map(({ sequence }) => sequence)).toEqual(packets.map(({ sequence }) => sequence));
				for (const [i, { sentMs, receivedMs }] of packets.entries()) {
					expect(Math.abs((back[i]?.sentMs ?? 0) - sentMs)).toBeLessThan(0.0011);
					if (receivedMs === null) expect(back[i]?.receivedMs).toBeNull();
					else expect(Math.abs((back[i]?.receivedMs ?? 0) - receivedMs)).toBeLessThan(0.0021);
				}
			},
		),
	);
});

test('kept small, every packet stays the same to the last digit, and in half the memory', () => {
	fc.assert(
		fc.property(fc.array(packet, { minLength: 1, maxLength: 300 }), (parts) => {
			const packed = packProbes(made(parts, 7), { segment: 0, way: 'toViewer' });
			const small = keptSmall(packed);
			expect(small.beyondUs).toBeInstanceOf(Int32Array);
			expect([...unpackProbes(small)]).toEqual([...unpackProbes(packed)]);
		}),
	);
});

test('a packet too far from the others for a small column is neither lost nor moved', () => {
	for (const beyondUs of [-(2 ** 31), 2 ** 31, 2 ** 40]) {
		const packed = {
			...{ segment: 0, way: 'toViewer' as const, firstSequence: 0, firstSentMs: 0, baseMs: 5 },
			...{ sentAfterUs: [0, 10], beyondUs: [null, beyondUs] },
		};
		const [, far] = unpackProbes(keptSmall(packed));
		expect(far?.receivedMs).toBe(0.01 + 5 + beyondUs / 1000);
	}
	const rare = { segment: 0, way: 'toViewer' as const, firstSequence: 0, firstSentMs: 0, baseMs: 5 };
	const [, late] = unpackProbes(keptSmall({ ...rare, sentAfterUs: [0, 2 ** 31], beyondUs: [0, 0] }));
	expect(late?.sentMs).toBe(2 ** 31 / 1000);
});

test('numbers with a gap are refused: a packet that is left out must not pass for one that was never sent', () => {
	const [one, two] = made(
		[
			{ afterMs: 1, delayMs: 2 },
			{ afterMs: 1, delayMs: 2 },
		],
		0,
	);
	const gap = [one!, { ...two!, sequence: 90 }];
	expect(() => packProbes(gap, { segment: 0, way: 'toBench' })).toThrow(RangeError);
	expect(() => packProbes([], { segment: 0, way: 'toBench' })).toThrow(RangeError);
});

test('both ways stand on the reference clock, whatever the viewer clock says', () => {
	const aheadMs = 500_000;
	const header = { ...madeHeader, viewerClock: 'pinged' as const };
	// Symmetric pings of 2 ms: the viewer is exactly `aheadMs` ahead.
	const samples = Array.from({ length: 60 }, (_, i): [number, number, number, number] => {
		const at = i * 10;
		return [at, at + 1 + aheadMs, at + 1 + aheadMs, at + 2];
	});
	const toViewer = [{ sequence: 0, sentMs: 200, receivedMs: 207 + aheadMs }];
	const toBench = [
		{ sequence: 0, sentMs: 300 + aheadMs, receivedMs: 304 },
		{ sequence: 1, sentMs: 310 + aheadMs, receivedMs: null },
	];
	const run = placeRun(
		[
			header,
			segment(),
			{ kind: 'pings', segment: 0, samples, quantumMs: 0.001 } as const,
			packProbes(toViewer, { segment: 0, way: 'toViewer' }),
			packProbes(toBench, { segment: 0, way: 'toBench' }),
			...ending,
		].map((record) => {
			const read = parseRecord(formatRecord(record));
			if (read.kind === 'unknown') throw new Error('not kept');
			return read;
		}),
	);
	const delays = [...probePackets(run)].map(({ way, sequence, sentMs, receivedMs }) => ({
		way,
		sequence,
		delayMs: receivedMs === null ? null : Math.round((receivedMs - sentMs) * 100) / 100,
	}));
	expect(delays).toEqual([
		{ way: 'toViewer', sequence: 0, delayMs: 7 },
		{ way: 'toBench', sequence: 0, delayMs: 4 },
		{ way: 'toBench', sequence: 1, delayMs: null },
	]);
});
