/**
 * Places and run lengths whose truth is known, in virtual time: which place comes first, and how length sharpens the answer (how many
 * stay open, and how far the 95 % bound of the share of time over the limit lies above its reading).
 */
import { measureRun } from '../src/metrics/measureRun.ts';
import { placeRun } from '../src/observations/placeRun.ts';
import type { AirSpec } from '../src/simulation/airSpec.ts';
import { inventedKits, kitRunSpec } from '../src/simulation/inventedKits.ts';
import { simulateLinkRun } from '../src/simulation/virtualLink.ts';
import { truthOf } from '../src/simulation/virtualTruth.ts';
import { createRandom } from '../src/statistics/random.ts';
import { standardCriteria, thresholdsOf } from '../src/verdict/criteria.ts';
import { judgeRun } from '../src/verdict/judgeRun.ts';
import { rankPlaces, type VisitReading } from '../src/verdict/places.ts';
import { base } from './yardAirs.ts';

/** A run of a kit over an air of its own bad spells, in virtual time. */
function visitSpec(badShare: number, seed: number, observedMs: number) {
	const [kit] = inventedKits;
	const badMeanMs = 700;
	const spec = kitRunSpec(kit!, {
		profile: 'brief',
		observedMs,
		seed,
		runId: 'visit',
		toolVersion: 'bench',
		startedAt: '',
	});
	const badSpells = {
		goodMeanMs: (badMeanMs * (1 - badShare)) / badShare,
		badMeanMs,
		extraMs: 300,
		lossRatio: 0,
	};
	return { ...spec, air: { ...spec.air, ...base, badSpells: badShare > 0 ? badSpells : null } };
}

const limits = thresholdsOf(standardCriteria);

function visitAt(place: string, badShare: number, seed: number): VisitReading {
	const { pictureAge } = measureRun(
		placeRun([...simulateLinkRun(visitSpec(badShare, seed, 120_000))]),
		limits,
	);
	if (pictureAge.kind !== 'measured') throw new Error(pictureAge.explanation);
	return {
		place,
		overLimitRatio: pictureAge.overLimit.shareRatio,
		effectiveCount: pictureAge.overLimit.effectiveCount,
	};
}

export function places(yards: number, firstSeed: number) {
	let [differ, rightFirst, toldBetter, wrongOrder, same, toldSame] = [0, 0, 0, 0, 0, 0];
	for (let i = 0; i < yards; i++) {
		const random = createRandom(firstSeed + 90_000 + i);
		const alike = i % 3 === 0;
		const first = 0.02 + 0.1 * random.next();
		const shares = { a: first, b: alike ? first : Math.min(0.9, first + 0.28 + 0.2 * random.next()) };
		const visits = [0, 1, 2].flatMap((turn) =>
			Object.entries(shares).map(([place, share], p) =>
				visitAt(place, share, firstSeed + 1000 * i + 10 * turn + p),
			),
		);
		const { order, pairs } = rankPlaces(visits);
		const answer = pairs[0]!.answer;
		if (alike) {
			same++;
			if (answer === 'noDifferenceSeen') toldSame++;
			continue;
		}
		const truth = (share: number, seed: number): number =>
			truthOf(visitSpec(share, seed, 120_000), {
				ageLimitMs: limits.ageLimitMs,
				delayLimitMs: limits.delayLimitMs,
			}).ageOverLimitRatio;
		const difference =
			[7, 8, 9].reduce((sum, seed) => sum + truth(shares.b, seed) - truth(shares.a, seed), 0) / 3;
		if (difference <= 0.2) continue;
		differ++;
		if (order[0]!.place === 'a') rightFirst++;
		if (answer === 'firstBetter') toldBetter++;
		if (answer === 'firstBetter' && pairs[0]!.first !== 'a') wrongOrder++;
	}
	return { differ, rightFirst, toldBetter, wrongOrder, same, toldSame };
}

export function lengths(runs: number, firstSeed: number) {
	const kinds: Readonly<Record<string, Partial<AirSpec>>> = {
		none: {},
		'mains bursts, half of every 20 ms': {
			periodic: { everyMs: 20, lengthMs: 10, phaseMs: 0, extraMs: null },
		},
		'a beat of 10 ms every 102.4 ms': {
			periodic: { everyMs: 102.4, lengthMs: 10, phaseMs: 0, extraMs: null },
		},
		'pulses every 1.25 s': { periodic: { everyMs: 1250, lengthMs: 100, phaseMs: 0, extraMs: null } },
		'random bursts': {
			outages: { scheduled: [], random: { meanEveryMs: 6000, lengthMs: 250 }, packets: 'held' },
		},
		'bad spells of 1 s, 3 % of the time': {
			badSpells: { goodMeanMs: 32_000, badMeanMs: 1000, extraMs: 300, lossRatio: 0 },
		},
		'bad spells of 1 s, 15 % of the time': {
			badSpells: { goodMeanMs: 5700, badMeanMs: 1000, extraMs: 300, lossRatio: 0 },
		},
	};
	return Object.entries(kinds).map(([kind, air], k) => {
		const row: Record<string, string> = {
			'age line, undetermined of all; bound above reading, median, points': kind,
		};
		for (const minutes of [2, 5, 10]) {
			let open = 0;
			const apart: number[] = [];
			for (let i = 0; i < runs; i++) {
				const [kit] = inventedKits;
				const profile = minutes === 2 ? 'brief' : minutes === 5 ? 'verdict' : 'long';
				const spec = kitRunSpec(kit!, {
					...{ profile, observedMs: minutes * 62_000, seed: firstSeed + 100 * k + i },
					...{ runId: 'length', toolVersion: 'bench', startedAt: '' },
				});
				const metrics = measureRun(
					placeRun([...simulateLinkRun({ ...spec, air: { ...spec.air, ...base, ...air } })]),
					limits,
				);
				const line = judgeRun(metrics, standardCriteria).lines.find(({ id }) => id === 'age');
				if (line?.state === 'undecided') open++;
				if (metrics.pictureAge.kind !== 'measured') continue;
				const { shareRatio, upperRatio } = metrics.pictureAge.overLimit;
				if (upperRatio !== null) apart.push(100 * (upperRatio - shareRatio));
			}
			apart.sort((a, b) => a - b);
			row[`${minutes} min`] = `${open}/${runs}; ${apart[apart.length >> 1]?.toFixed(2) ?? 'no bound'}`;
		}
		return row;
	});
}
