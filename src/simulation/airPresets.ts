/** Ready airs by name, in words of our own; invented, not measured anywhere. One way each. */
import { type AirSpec, stillAir } from './airSpec.ts';

export type AirPreset = { readonly spec: AirSpec; readonly description: string };

const described = {
	clear: {
		description: 'a quiet room: 3 ms, hardly any unevenness',
		delayMs: 3,
		spread: { kind: 'gamma', shape: 2, scaleMs: 0.5 },
	},
	busyYard: {
		description:
			'other radios at work: 8 ms with a long tail, and a bad spell of about a second every quarter minute',
		delayMs: 8,
		spread: { kind: 'lognormal', medianMs: 6, sigma: 0.7 },
		badSpells: { goodMeanMs: 15_000, badMeanMs: 1000, extraMs: 60, lossRatio: 0.02 },
	},
	farStable: {
		description: 'a stable at the end of the reach: slow, with packets lost in short runs',
		delayMs: 20,
		spread: { kind: 'gamma', shape: 1.5, scaleMs: 8 },
		loss: { p: 0.004, r: 0.3, k: 1, h: 0.2 },
		rate: { kbitPerSecond: 6000, queueMs: 250, queueBytes: null },
	},
	metalBarn: {
		description:
			'echoes off sheet metal: packets come gathered, and nothing passes for a third of a second now and then',
		delayMs: 10,
		spread: { kind: 'lognormal', medianMs: 8, sigma: 0.9 },
		bursts: { everyMs: 20 },
		outages: { scheduled: [], random: { meanEveryMs: 12_000, lengthMs: 350 }, packets: 'held' },
	},
	fencePulse: {
		description: 'a fence energiser close by: every 1.25 s nothing passes for a tenth of a second',
		delayMs: 5,
		spread: { kind: 'gamma', shape: 2, scaleMs: 1 },
		periodic: { everyMs: 1250, lengthMs: 100, phaseMs: 0, extraMs: null },
	},
	droppingOut: {
		description:
			'the link drops out: about every 20 s nothing passes for 1.2 s, and what was sent then is gone',
		delayMs: 8,
		spread: { kind: 'gamma', shape: 2, scaleMs: 2 },
		outages: { scheduled: [], random: { meanEveryMs: 20_000, lengthMs: 1200 }, packets: 'dropped' },
	},
} satisfies { readonly [name: string]: Partial<AirSpec> & { readonly description: string } };

/** By name, in the order in which they are told. */
export const airPresets: ReadonlyMap<string, AirPreset> = new Map(
	Object.entries(described).map(([name, { description, ...spec }]) => [
		name,
		{ description, spec: { ...stillAir, ...spec, name } },
	]),
);
