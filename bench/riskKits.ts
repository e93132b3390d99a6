/**
 * Kits that never were, with a known distance from the limit: what `decisionRisk` judges. Each kind has one disturbance; how
 * late the kit is besides (or, for freezes, how often it freezes) is chosen so that its worst steering line stands at the asked
 * multiple of its limit. All of it is stated, none of it measured on any radio.
 */
import type { ProfileName } from '../src/observations/records.ts';
import { type AirSpec, type LossChain, stillAir } from '../src/simulation/airSpec.ts';
import { inventedKits, kitRunSpec } from '../src/simulation/inventedKits.ts';
import { virtualFrames } from '../src/simulation/virtualFrames.ts';
import type { VirtualLinkSpec } from '../src/simulation/virtualLinkSpec.ts';
import { CurveBuilder, type LevelCurve, levelQuantile, shareOver } from '../src/statistics/levelCurve.ts';

const AGE_LIMIT_MS = 240;
const DELAY_LIMIT_MS = 200;
const ALLOWED_RATIO = 0.05;
const FREEZES_ALLOWED_PER_MIN = 0.6;
const FREEZE_MS = 450;
const CALIBRATION_S = process.argv.includes('--quick') ? 3600 : 4 * 3600;
const CALIBRATION_SEED = 7001;
const COLOUR_NOISE_SD = 1.2;
/** Every kit loses a picture now and then, mostly one by one. */
const USUAL_LOSS: LossChain = { p: 0.004, r: 0.8, k: 1, h: 0 };

type Kind = {
	readonly name: string;
	/** Longest mean of its bad spells, in seconds: within a profile's promise when that vouches for as much. */
	readonly spellS: number;
	readonly air: Partial<AirSpec>;
	readonly pictureBytes?: { readonly mean: number; readonly sd: number };
	readonly pictureLoss?: LossChain;
	readonly freezes?: true;
};

export const KINDS: readonly Kind[] = [
	{ name: 'independent', spellS: 0.03, air: { spread: { kind: 'gamma', shape: 2, scaleMs: 12 } } },
	{
		name: 'correlated',
		spellS: 0.3,
		air: {
			spread: { kind: 'gamma', shape: 2, scaleMs: 2 },
			rate: { kbitPerSecond: 4800, queueMs: null, queueBytes: null },
		},
		pictureBytes: { mean: 16_000, sd: 6000 },
	},
	{
		name: 'bursts',
		spellS: 0.25,
		air: {
			spread: { kind: 'gamma', shape: 2, scaleMs: 2 },
			loss: { p: 0.0006, r: 0.3, k: 1, h: 0.1 },
			carriage: 'stream',
			retransmitMs: 60,
		},
	},
	{
		name: 'spells',
		spellS: 1,
		air: {
			spread: { kind: 'gamma', shape: 2, scaleMs: 4 },
			badSpells: { goodMeanMs: 14_000, badMeanMs: 1000, extraMs: 45, lossRatio: 0 },
		},
	},
	{
		name: 'periodic',
		spellS: 0.12,
		air: {
			spread: { kind: 'gamma', shape: 2, scaleMs: 3 },
			periodic: { everyMs: 1250, lengthMs: 90, phaseMs: 0, extraMs: null },
		},
	},
	{
		name: 'losing',
		spellS: 0.06,
		air: { spread: { kind: 'gamma', shape: 2, scaleMs: 3 } },
		pictureLoss: { p: 0.02, r: 0.8, k: 1, h: 0 },
	},
	{ name: 'freezes', spellS: 0.5, air: { spread: { kind: 'gamma', shape: 2, scaleMs: 3 } }, freezes: true },
	{
		name: 'long spells',
		spellS: 8,
		air: {
			spread: { kind: 'gamma', shape: 2, scaleMs: 4 },
			badSpells: { goodMeanMs: 112_000, badMeanMs: 8000, extraMs: 45, lossRatio: 0 },
		},
	},
];

/** A kind with what is true of it in the long run, when nothing is added to its delay. */
export type Calibrated = {
	readonly kind: Kind;
	readonly age: LevelCurve;
	readonly delay: LevelCurve;
	readonly lostRatio: number;
};

export function calibrate(kind: Kind): Calibrated {
	const spec = kitSpec(kind, { addedDelayMs: 0, freezesPerMin: 0, ...CALIBRATION });
	const [age, delay] = [new CurveBuilder(1), new CurveBuilder(0)];
	let before: { shownMs: number; seenMs: number } | null = null;
	let [sent, lost] = [0, 0];
	for (const { shownMs, seenMs, fate } of virtualFrames(spec)) {
		sent++;
		if (fate === 'lost' || fate === 'late') lost++;
		if (seenMs === null) continue;
		if (before !== null) {
			age.add(seenMs - before.seenMs, before.seenMs - before.shownMs);
			delay.add(shownMs - before.shownMs, seenMs - shownMs);
		}
		before = { shownMs, seenMs };
	}
	return { kind, age: age.finish(), delay: delay.finish(), lostRatio: lost / sent };
}
const CALIBRATION = { profile: 'verdict', observedMs: CALIBRATION_S * 1000, seed: CALIBRATION_SEED } as const;

/** How the kit must be so that its worst line stands at `overLimit` times what is allowed. */
export function placeKit(
	one: Calibrated,
	overLimit: number,
): { addedDelayMs: number; freezesPerMin: number } {
	if (one.kind.freezes === true)
		return { addedDelayMs: 40, freezesPerMin: overLimit * FREEZES_ALLOWED_PER_MIN };
	const share = overLimit * ALLOWED_RATIO;
	const age = AGE_LIMIT_MS - levelQuantile(one.age, 1 - share);
	const delay = DELAY_LIMIT_MS - levelQuantile(one.delay, 1 - share);
	return { addedDelayMs: Math.min(age, delay), freezesPerMin: 0 };
}

export type Truth = {
	readonly ageRatio: number;
	readonly delayRatio: number;
	/** Greatest of (true value over its limit) on the age, delay and freezes lines. */
	readonly overLimit: number;
};

/** Of a session in which so much is added to every delay. */
export function truthOfSession(
	one: Calibrated,
	{ addedDelayMs, freezesPerMin }: { readonly addedDelayMs: number; readonly freezesPerMin: number },
): Truth {
	const ageRatio = shareOver(one.age, AGE_LIMIT_MS - addedDelayMs);
	const delayRatio = shareOver(one.delay, DELAY_LIMIT_MS - addedDelayMs);
	const freezes = freezesPerMin / FREEZES_ALLOWED_PER_MIN;
	return {
		ageRatio,
		delayRatio,
		overLimit: Math.max(ageRatio / ALLOWED_RATIO, delayRatio / ALLOWED_RATIO, freezes),
	};
}

export function trueP95AgeMs({ age }: Calibrated, addedDelayMs: number): number {
	return levelQuantile(age, 0.95) + addedDelayMs;
}

type KitRun = {
	readonly addedDelayMs: number;
	readonly freezesPerMin: number;
	readonly profile: ProfileName;
	readonly observedMs: number;
	readonly seed: number;
	readonly colourNoise?: number;
};

export function kitSpec(kind: Kind, run: KitRun): VirtualLinkSpec {
	const { profile, observedMs, seed } = run;
	const base = kitRunSpec(inventedKits[0]!, {
		...{ profile, observedMs, seed, runId: `risk-${seed}` },
		...{ toolVersion: 'bench', startedAt: '2026-01-01T00:00:00Z' },
	});
	return {
		...base,
		subject: { ...base.subject, name: kind.name },
		addedDelayMs: run.addedDelayMs,
		air: { ...stillAir, delayMs: 5, ...kind.air, name: kind.name },
		pictureBytes: kind.pictureBytes ?? base.pictureBytes,
		pictureLoss: kind.pictureLoss ?? USUAL_LOSS,
		freezes:
			run.freezesPerMin === 0
				? null
				: {
						scheduled: [],
						random: { meanEveryMs: 60_000 / run.freezesPerMin - FREEZE_MS, lengthMs: FREEZE_MS },
					},
		// Any phase of the display: two clocks that know nothing of each other.
		display: { periodMs: 1000 / 59.94, phaseMs: (seed * 7.3) % 16 },
		colour: { ...base.colour!, noiseSd: run.colourNoise ?? COLOUR_NOISE_SD },
		likeness: null,
	};
}
