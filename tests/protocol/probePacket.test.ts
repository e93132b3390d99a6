import { expect, test } from 'vitest';
import { openProbePace, packProbe, unpackProbe } from '../../src/protocol/probePacket.ts';
import { createRandom } from '../../src/statistics/random.ts';

/** Sends for `spanMs` with a timer that is late by up to `lateMs` and never waits less than `leastMs`; gives the instants. */
function sendFor(spanMs: number, perSecond: number, timer: { lateMs: number; leastMs: number }): number[] {
	const random = createRandom(5);
	const pace = openProbePace(perSecond, () => random.next(), 0);
	const instants: number[] = [];
	for (let nowMs = 0; nowMs < spanMs; ) {
		instants.push(nowMs);
		nowMs += Math.max(timer.leastMs, pace.waitMs(nowMs)) + timer.lateMs * random.next();
	}
	return instants;
}

function spacings(instants: readonly number[]): number[] {
	return instants.slice(1).map((at, i) => at - (instants[i] ?? 0));
}

test('100 and 250 packets a second are sent as many, whatever a browser does with its timers', () => {
	for (const perSecond of [100, 250]) {
		for (const timer of [
			{ lateMs: 0, leastMs: 0 },
			{ lateMs: 1.2, leastMs: 1 },
		]) {
			const perSpan = sendFor(60_000, perSecond, timer).length / 60;
			expect(perSpan).toBeGreaterThan(0.98 * perSecond);
			expect(perSpan).toBeLessThan(1.02 * perSecond);
		}
	}
	// A page's timer waits 4 ms at least, which is the mean spacing itself.
	expect(sendFor(60_000, 200, { lateMs: 0.5, leastMs: 4 }).length / 60).toBeGreaterThan(196);
});

test('spacing is drawn evenly from 0.4 to 1.6 of its mean, so that packets have no beat', () => {
	const between = spacings(sendFor(60_000, 100, { lateMs: 0, leastMs: 0 }));
	expect(Math.min(...between)).toBeGreaterThanOrEqual(4 - 1e-6);
	expect(Math.min(...between)).toBeLessThan(4.1);
	expect(Math.max(...between)).toBeLessThanOrEqual(16 + 1e-6);
	expect(Math.max(...between)).toBeGreaterThan(15.9);
	const middle = between.filter((ms) => ms > 8 && ms < 12).length / between.length;
	expect(Math.abs(middle - 1 / 3)).toBeLessThan(0.03);
});

test('an end that slept for a minute sends five packets at once afterwards and not the thousands it missed, and then at its pace again', () => {
	const pace = openProbePace(100, () => 0.5, 0);
	expect(pace.waitMs(0)).toBe(10);
	const waits = Array.from({ length: 8 }, () => pace.waitMs(60_000));
	expect(waits.filter((ms) => ms === 0)).toHaveLength(5);
	expect(waits.slice(5)).toEqual([10, 20, 30]);
});

test('a packet is told by its mark and its length, and bears its number', () => {
	for (const number of [0, 1, 0xffffffff]) expect(unpackProbe(packProbe(number))).toBe(number);
	const packet = packProbe(77);
	expect(unpackProbe(packet.subarray(0, 7))).toBeNull();
	expect(unpackProbe(new Uint8Array([...packet, 0]))).toBeNull();
	expect(unpackProbe(packet.map((byte, i) => (i === 0 ? byte ^ 1 : byte)))).toBeNull();
	for (const wrong of [-1, 0.5, 0x1_0000_0000]) expect(() => packProbe(wrong)).toThrow(RangeError);
});
