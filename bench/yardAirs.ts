/** Yards whose disturbance is known, as probes would tell of them: what is found, and what is told where nothing is. */
import { createAir } from '../src/simulation/air.ts';
import { type AirSpec, stillAir } from '../src/simulation/airSpec.ts';
import { createRandom, type Random } from '../src/statistics/random.ts';
import type { Repeat } from '../src/statistics/repeatFigures.ts';
import { findRepeats } from '../src/statistics/repeats.ts';
import { clopperPearson } from '../src/statistics/wilson.ts';

const PROBES_PER_S = 50;
/** Told where chance alone would show as much in one run of a hundred. */
export const ALPHA = 0.01;
const OWN = { ownHz: [1, 30], falseAlarmRatio: ALPHA, highestHz: 125 };
/** How far the frequency of mains strays from its name, as a share: common practice, no source. */
const MAINS_STRAY = 0.0004;

export const base: AirSpec = {
	...stillAir,
	name: 'yard',
	delayMs: 5,
	spread: { kind: 'gamma', shape: 2, scaleMs: 1.5 },
};
const CLEAN_AIRS: Readonly<Record<string, Partial<AirSpec>>> = {
	quiet: {},
	lossy: { loss: { p: 0.004, r: 0.3, k: 1, h: 0.2 } },
	longTail: { spread: { kind: 'lognormal', medianMs: 6, sigma: 0.8 } },
	randomBursts: { outages: { scheduled: [], random: { meanEveryMs: 3000, lengthMs: 120 }, packets: 'held' } },
	badSpells: { badSpells: { goodMeanMs: 8000, badMeanMs: 1000, extraMs: 60, lossRatio: 0.05 } },
};

type Extra = (atS: number) => number;

/** Delay in ms of jittered probes through an air, with a disturbance on top; infinite for lost. */
function probe(spanS: number, seed: number, { air, extra }: { air: Partial<AirSpec>; extra: Extra }) {
	const random = createRandom(seed);
	const way = createAir({ ...base, ...air }, createRandom(seed + 1e6));
	const timesS = new Float64Array(spanS * PROBES_PER_S);
	const values = new Float64Array(timesS.length);
	for (let i = 0; i < timesS.length; i++) {
		const atMs = ((i + random.next()) * 1000) / PROBES_PER_S;
		const passage = way.send(atMs, 100);
		timesS[i] = atMs / 1000;
		values[i] =
			'lostAtMs' in passage ? Number.POSITIVE_INFINITY : passage.deliverAtMs - atMs + extra(atMs / 1000);
	}
	return { timesS, values };
}

/** Pulses whose spacing is drawn anew each time: the jitter adds up. */
function pulses(
	periodS: number,
	random: Random,
	pulse: { jitterRatio: number; lengthS: number; lostRatio: number; extraMs: number },
): Extra {
	let startS = periodS * random.next();
	return (atS) => {
		while (startS + pulse.lengthS < atS)
			startS += periodS * Math.max(0.5, 1 + pulse.jitterRatio * random.normal());
		if (atS < startS) return 0;
		return random.next() < pulse.lostRatio ? Number.POSITIVE_INFINITY : pulse.extraMs;
	};
}

const STRENGTHS = [
	{ strength: 'strong', lengthS: 0.1, lostRatio: 0.4, extraMs: 20 },
	{ strength: 'medium', lengthS: 0.04, lostRatio: 0.1, extraMs: 8 },
	{ strength: 'weak', lengthS: 0.02, lostRatio: 0, extraMs: 4 },
] as const;

/** One disturbed yard: its true period, and what is done to the probes. */
function disturbance(
	kind: Kind,
	strength: (typeof STRENGTHS)[number],
	random: Random,
): { periodS: number; extra: Extra } {
	if (kind === 'fence') {
		const periodS = 1 + 0.6 * random.next();
		return { periodS, extra: pulses(periodS, random, { ...strength, jitterRatio: 0.01 * random.next() }) };
	}
	const share = strength.strength === 'strong' ? 0.3 : strength.strength === 'medium' ? 0.15 : 0.08;
	const mainsS = [0.01, 0.02, 1 / 120][random.integer(3)]! * (1 + MAINS_STRAY * random.normal());
	const periodS = kind === 'mains' ? mainsS : 0.1024;
	return {
		periodS,
		extra: (atS) => (atS / periodS - Math.floor(atS / periodS) < share ? strength.extraMs / 2 : 0),
	};
}

type Kind = 'fence' | 'mains' | 'beacon';
type Strength = (typeof STRENGTHS)[number]['strength'];

/** A yard of two minutes with something that repeats, and what is told of it. */
export function lookAtYard(
	kind: Kind,
	strength: Strength,
	seed: number,
): { readonly periodS: number; readonly repeats: readonly Repeat[] } {
	const how = STRENGTHS.find((each) => each.strength === strength)!;
	const { periodS, extra } = disturbance(kind, how, createRandom(seed));
	const { timesS, values } = probe(120, seed, { air: {}, extra });
	return { periodS, repeats: findRepeats(timesS, values, { ...OWN, seed })?.repeats ?? [] };
}

/** Told beside the true period, or in its stead: a multiple or a part of it is the same thing seen again, anything else is false. */
type Stray = {
	readonly yard: string;
	readonly trueS: number;
	readonly toldS: number;
	readonly chance: number;
	readonly isKin: boolean;
};

const KIN_RATIO = 0.03;
const MOST_KIN = 12;

function isKin(periodS: number, trueS: number): boolean {
	const ratio = Math.max(periodS / trueS, trueS / periodS);
	return Math.abs(ratio / Math.round(ratio) - 1) < KIN_RATIO && ratio < MOST_KIN + 0.5;
}

/** Over so many yards in all. */
export function detection(yards: number, firstSeed: number) {
	const rows = [];
	const strays: Stray[] = [];
	let seed = firstSeed;
	for (const kind of ['fence', 'mains', 'beacon'] as const) {
		for (const { strength } of STRENGTHS) {
			const runs = Math.max(1, Math.round(yards / 9));
			let [found, covered, kin, unrelated] = [0, 0, 0, 0];
			const errors: number[] = [];
			for (let i = 0; i < runs; i++) {
				const { periodS: trueS, repeats } = lookAtYard(kind, strength, ++seed);
				const [right] = repeats.filter(({ periodS }) => Math.abs(periodS / trueS - 1) < 0.03);
				for (const { periodS, falseAlarmRatio } of repeats.filter((repeat) => repeat !== right)) {
					const stray = isKin(periodS, trueS);
					if (stray) kin++;
					else unrelated++;
					const yard = `${kind}, ${strength}, seed ${seed}${right === undefined ? '' : ', beside the true one'}`;
					strays.push({ yard, trueS, toldS: periodS, chance: falseAlarmRatio, isKin: stray });
				}
				if (right === undefined) continue;
				found++;
				errors.push(Math.abs(right.periodS / trueS - 1));
				if (Math.abs(right.periodS - trueS) <= right.periodUncertaintyS) covered++;
			}
			errors.sort((a, b) => a - b);
			rows.push({
				...{ kind, strength, runs, found },
				'median error %': errors.length === 0 ? '-' : (100 * errors[errors.length >> 1]!).toFixed(3),
				'within stated': `${covered}/${found}`,
				'multiples or parts told': kin,
				'unrelated told': unrelated,
			});
		}
	}
	return { rows, strays };
}

/** On so many clean runs in all. */
export function falseAlarms(clean: number, firstSeed: number) {
	const kinds = Object.entries(CLEAN_AIRS);
	const rows = kinds.map(([kind, air], k) => {
		const runs = Math.round(clean / kinds.length);
		let alarms = 0;
		for (let i = 0; i < runs; i++) {
			const seed = firstSeed + 10_000 * (k + 1) + i;
			const { timesS, values } = probe(60, seed, { air, extra: () => 0 });
			if ((findRepeats(timesS, values, { ...OWN, seed })?.repeats.length ?? 0) > 0) alarms++;
		}
		return { 'clean air': kind, runs, 'false alarms': alarms };
	});
	const runs = rows.reduce((sum, row) => sum + row.runs, 0);
	const alarms = rows.reduce((sum, row) => sum + row['false alarms'], 0);
	return { rows, runs, alarms, lower: clopperPearson(alarms, runs, 0.95).lowerRatio };
}
