import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
	boundAtMs,
	type FittedClock,
	fitClock,
	type NoClock,
	type Ping,
	readPing,
	toReferenceMs,
} from '../../src/observations/clock.ts';
import { type AirSpec, stillAir } from '../../src/simulation/airSpec.ts';
import { createVirtualPings, type VirtualPingsSpec } from '../../src/simulation/virtualPings.ts';
import { createRandom } from '../../src/statistics/random.ts';

/** Published form of RFC 5905, worked by hand (standards 2.7, computed). */
const WORKED: Ping = [100, 160, 165, 125];
const MINUTES = 60_000;

const still: VirtualPingsSpec = {
	aheadMs: 1234.5,
	fastPpm: 0,
	quantumMs: 0,
	burstEveryMs: 10_000,
	pingsPerBurst: 8,
	toViewer: stillAir,
	fromViewer: stillAir,
};
const wifi: AirSpec = { ...stillAir, delayMs: 2, spread: { kind: 'gamma', shape: 1, scaleMs: 4 } };

function fitted(fit: FittedClock | NoClock): FittedClock {
	if (fit.kind === 'notMeasured') throw new Error(fit.explanation);
	return fit;
}

/** Pings of a viewer for so long, and the viewer's true clock. */
function pingFor(lengthMs: number, spec: VirtualPingsSpec, seed: number) {
	const link = createVirtualPings(spec, createRandom(seed));
	const pings: Ping[] = [];
	for (let backByMs = 0; backByMs < lengthMs; ) {
		const burst = link.nextBurst();
		pings.push(...burst.pings);
		backByMs = burst.backByMs;
	}
	return { pings, viewerMs: link.viewerMs };
}

test('the worked triple of stamps reads as 50 ahead with a round trip of 20', () => {
	expect(readPing(WORKED)).toEqual({ aheadMs: 50, roundTripMs: 20 });
});

test('one ping gives a fit, sure to half its round trip', () => {
	const fit = fitted(fitClock([WORKED], 0));
	expect(fit).toMatchObject({ offsetMs: -50, driftPpm: 0, boundMs: 10, leastRoundTripMs: 20, pingCount: 1 });
	expect(toReferenceMs(fit, 162.5)).toBe(112.5);
});

test('the step of the viewer clock adds to the bound', () => {
	expect(fitted(fitClock([WORKED], 1.5)).boundMs).toBe(11.5);
});

test('where the viewer does not say its step, the least step its stamps show is taken', () => {
	const second: Ping = [200, 260, 261, 222];
	expect(fitted(fitClock([WORKED, second], null)).boundMs).toBe(10 + 1);
	expect(fitClock([[0, 50, 50, 4]], null)).toMatchObject({ reason: 'clockStepUnknown' });
});

test('no ping, or only impossible ones, give no clock', () => {
	expect(fitClock([], 0)).toMatchObject({ reason: 'noUsablePing' });
	expect(fitClock([[100, 160, 165, 90]], 0)).toMatchObject({ reason: 'noUsablePing' });
	expect(fitClock([[100, 160, 150, 125]], 0)).toMatchObject({ reason: 'noUsablePing' });
});

test('of many pings the one of least round trip sets the offset, not the average', () => {
	const slow = Array.from({ length: 50 }, (_, i): Ping => [i, i + 90, i + 90, i + 80]);
	const fit = fitted(fitClock([...slow, WORKED], 0));
	expect(fit.offsetMs).toBe(-50);
});

test('40 ppm over 10 minutes of jittered bursts comes back within 2 ppm', () => {
	for (let seed = 1; seed <= 10; seed++) {
		const spec = { ...still, fastPpm: -40, toViewer: wifi, fromViewer: wifi };
		const { pings } = pingFor(10 * MINUTES, spec, seed);
		expect(Math.abs(fitted(fitClock(pings, 0)).driftPpm - 40)).toBeLessThan(2);
	}
});

test('the error never exceeds the bound, on even and uneven ways, with and without drift', () => {
	const slow: AirSpec = { ...stillAir, delayMs: 15, spread: { kind: 'lognormal', medianMs: 5, sigma: 1 } };
	const fence: AirSpec = {
		...wifi,
		periodic: { everyMs: 1250, lengthMs: 200, phaseMs: 0, extraMs: null },
		badSpells: { goodMeanMs: 8000, badMeanMs: 4000, extraMs: 30, lossRatio: 0.1 },
	};
	const airs = [stillAir, wifi, slow, fence];
	let tried = 0;
	for (const toViewer of airs)
		for (const fromViewer of airs)
			for (const fastPpm of [-80, -15, 0, 40])
				for (const quantumMs of [0, 0.1, 5]) {
					const spec = { ...still, fastPpm, quantumMs, toViewer, fromViewer };
					const lengthMs = tried % 2 === 0 ? 2 * MINUTES : 6 * MINUTES;
					const { pings, viewerMs } = pingFor(lengthMs, spec, ++tried);
					const fit = fitted(fitClock(pings, quantumMs, { startMs: 0, endMs: lengthMs }));
					for (let atMs = 0; atMs <= lengthMs; atMs += 1777) {
						const seen = viewerMs(atMs);
						const error = Math.abs(toReferenceMs(fit, seen) - atMs);
						expect(error).toBeLessThanOrEqual(boundAtMs(fit, seen) + 1e-6);
						expect(boundAtMs(fit, seen)).toBeLessThanOrEqual(fit.boundMs + 0.01);
					}
				}
	expect(tried).toBe(192);
});

test('the bound grows when pings stop, and the segment carries its greatest', () => {
	const { pings, viewerMs } = pingFor(MINUTES, { ...still, toViewer: wifi, fromViewer: wifi }, 3);
	const fit = fitted(fitClock(pings, 0));
	const soon = boundAtMs(fit, viewerMs(MINUTES));
	const later = boundAtMs(fit, viewerMs(5 * MINUTES));
	expect(later - soon).toBeGreaterThan(4 * MINUTES * 15e-6);
	const whole = fitted(fitClock(pings, 0, { startMs: 0, endMs: 5 * MINUTES }));
	expect(whole.boundMs).toBeGreaterThanOrEqual(later - 0.01);
	expect(whole.boundMs).toBeGreaterThan(fit.boundMs);
});

test('a clock that jumped or stood still in mid-run gives no fit', () => {
	const { pings } = pingFor(4 * MINUTES, { ...still, toViewer: wifi, fromViewer: wifi }, 4);
	const shifted = (byMs: number) =>
		pings.map(
			([t1, t2, t3, t4]): Ping => (t1 < 2 * MINUTES ? [t1, t2, t3, t4] : [t1, t2 + byMs, t3 + byMs, t4]),
		);
	expect(fitClock(shifted(0), 0).kind).toBe('fitted');
	expect(fitClock(shifted(200), 0)).toMatchObject({ reason: 'clockStepped' });
	expect(fitClock(shifted(-3000), 0)).toMatchObject({ reason: 'clockStepped' });
});

test('shifting every viewer stamp shifts the offset by as much the other way, and nothing else', () => {
	const { pings } = pingFor(3 * MINUTES, { ...still, fastPpm: 25, toViewer: wifi, fromViewer: wifi }, 5);
	const before = fitted(fitClock(pings, 0.1));
	fc.assert(
		fc.property(fc.integer({ min: -1_000_000, max: 1_000_000 }), (shiftMs) => {
			const moved = pings.map(([t1, t2, t3, t4]): Ping => [t1, t2 + shiftMs, t3 + shiftMs, t4]);
			const after = fitted(fitClock(moved, 0.1));
			expect(after.offsetMs).toBeCloseTo(before.offsetMs - shiftMs, 6);
			expect(after.driftPpm).toBeCloseTo(before.driftPpm, 4);
			expect(after.boundMs).toBeCloseTo(before.boundMs, 6);
		}),
		{ numRuns: 50 },
	);
	const whole = fitted(fitClock([[100, 160 + 4096, 165 + 4096, 125]], 0));
	expect(whole.offsetMs).toBe(-50 - 4096);
});
