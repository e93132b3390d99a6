import { stillAir } from '../../src/simulation/airSpec.ts';
import type { VirtualLinkSpec } from '../../src/simulation/virtualLinkSpec.ts';

/** 25 pictures a second, nothing but a constant 50 ms, seen where it is decoded: every figure is known by hand. */
export const madeLink: VirtualLinkSpec = {
	runId: 'made',
	toolVersion: '0.0.0',
	startedAt: '2030-01-01T00:00:00Z',
	subject: { kind: 'kit', name: 'a made kit', invented: true },
	profile: 'demo',
	seed: 1,
	warmUpMs: 1000,
	observedMs: 20_000,
	source: { rateHz: 25, widthPx: 1280, heightPx: 720, latenessMeanMs: 0 },
	addedDelayMs: 20,
	encode: { kind: 'constant', ms: 5 },
	pictureBytes: { mean: 6000, sd: 0 },
	pictureLoss: null,
	air: { ...stillAir, delayMs: 21 },
	decode: { kind: 'constant', ms: 4 },
	display: null,
	freezes: null,
	colour: null,
	likeness: null,
	patches: [],
	sampleEveryMs: 1000,
	lostAfterMs: 30_000,
	viewerClock: null,
};

/** Everything at once: losses, overtaking, outages, freezes, a display faster than the source is slow. */
export const roughLink: VirtualLinkSpec = {
	...madeLink,
	source: { ...madeLink.source, rateHz: 30, latenessMeanMs: 1 },
	pictureBytes: { mean: 12_000, sd: 4000 },
	pictureLoss: { p: 0.01, r: 0.3, k: 1, h: 0 },
	air: {
		...stillAir,
		delayMs: 10,
		spread: { kind: 'lognormal', medianMs: 8, sigma: 1 },
		keepOrder: false,
		loss: { p: 0.001, r: 0.4, k: 1, h: 0 },
		outages: { scheduled: [], random: { meanEveryMs: 8000, lengthMs: 700 }, packets: 'held' },
	},
	decode: { kind: 'gamma', shape: 2, scaleMs: 2 },
	display: { periodMs: 1000 / 60, phaseMs: 2 },
	freezes: { scheduled: [{ atMs: 5000, lengthMs: 900 }], random: { meanEveryMs: 9000, lengthMs: 400 } },
};
