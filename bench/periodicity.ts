/**
 * How well the yard check finds what repeats, how often it is wrong, and how well it chooses a place. Known truth in: simulated
 * yards in virtual time, and the real harness idle on this computer, in which nothing but our own work repeats.
 *
 *     npx tsx bench/periodicity.ts [--quick] [--json] [--seed N] [--detection --clean --idle --places --lengths: only those parts]
 *
 * Goals: false alarms on clean runs not significantly above the stated 1 % (exact binomial, 95 %); none on the idle harness
 * beyond that; the right place first in 95 % of yards whose truth differs by more than 20 points of time over the limit.
 */

import { airWaysOf } from '../src/metrics/airWays.ts';
import { findRepeating } from '../src/metrics/repeating.ts';
import { placeRun } from '../src/observations/placeRun.ts';
import type { ObservationRecord } from '../src/observations/records.ts';
import { runLink } from '../src/rigs/link/harness.ts';
import { usualLink } from '../src/rigs/link/link.ts';
import { clopperPearson } from '../src/statistics/wilson.ts';
import { benchContext, printTable } from './benchReport.ts';
import { ALPHA, detection, falseAlarms } from './yardAirs.ts';
import { lengths, places } from './yardVisits.ts';

const QUICK = process.argv.includes('--quick');
const JSON_ONLY = process.argv.includes('--json');
const [YARDS, CLEAN, IDLE_RUNS, PLACE_YARDS, LENGTH_RUNS] = QUICK
	? [24, 60, 1, 6, 2]
	: [200, 1000, 4, 40, 20];
const IDLE_S = QUICK ? 25 : 60;
const SEED = Number(process.argv[process.argv.indexOf('--seed') + 1] ?? Number.NaN) || 500;

async function idleHarness() {
	const rows = [];
	for (let i = 0; i < IDLE_RUNS; i++) {
		// By turns: the pictures alone, and with probes beside them as `yard` sends.
		const probePerSecond = i % 2 === 0 ? 100 : null;
		const records: ObservationRecord[] = [];
		await runLink(
			{
				...usualLink,
				...{ runId: `idle-${i}`, toolVersion: 'bench', startedAt: '', profile: 'demo', seed: SEED + i },
				subject: { kind: 'computer', name: 'this computer', invented: false },
				...{ observedMs: IDLE_S * 1000, probePerSecond },
			},
			{ record: (record) => records.push(record), evidence: () => {}, progress: () => {} },
		);
		const run = placeRun(records);
		const found = findRepeating(run);
		const ways = airWaysOf(run).map(
			({ way, carriedBy, gather }) => `${way} ${carriedBy} ${gather().sentMs.length}`,
		);
		rows.push({
			'idle harness': `run ${i + 1}, ${IDLE_S} s`,
			packets: ways.join(', '),
			periods:
				found.kind === 'measured'
					? found.repeats.map(({ periodS }) => `${periodS.toFixed(4)} s`).join(', ') || 'none'
					: found.reason,
		});
	}
	return rows;
}

const say = (text: string): void => {
	if (!JSON_ONLY) console.log(text);
};
const table = (rows: readonly Readonly<Record<string, string | number>>[]): void => {
	if (!JSON_ONLY) printTable(rows);
};

type Part = { readonly name: string; readonly run: () => Promise<PartResult> | PartResult };
type PartResult = { readonly figures: unknown; readonly goals: Readonly<Record<string, boolean>> };

const PARTS: readonly Part[] = [
	{
		name: 'detection',
		run: () => {
			say('Detection against strength, 120 s of 50 jittered probes a second, told at 1 %:');
			const { rows, strays } = detection(YARDS, SEED);
			table(rows);
			for (const { yard, trueS, toldS, chance, isKin } of strays)
				say(
					`${yard}: true ${trueS.toPrecision(6)} s, told ${toldS.toPrecision(6)} s (${isKin ? 'kin' : 'unrelated'}), stated chance ${chance.toPrecision(2)}`,
				);
			return { figures: { rows, strays }, goals: {} };
		},
	},
	{
		name: 'clean',
		run: () => {
			const clean = falseAlarms(CLEAN, SEED);
			say('\nFalse alarms, 60 s each, stated 1 %:');
			table(clean.rows);
			say(
				`${clean.alarms} of ${clean.runs}; 95 % lower bound of the rate ${(100 * clean.lower).toFixed(2)} %`,
			);
			// Each kind for itself: four quiet ones would hide a bad one.
			const notAbove = clean.rows.every(
				(row) => clopperPearson(row['false alarms'], row.runs, 0.95).lowerRatio <= ALPHA,
			);
			return { figures: clean, goals: { 'false alarms not above 1 %, on any kind': notAbove } };
		},
	},
	{
		name: 'idle',
		run: async () => {
			const rows = await idleHarness();
			say('\nThe real harness, idle:');
			table(rows);
			return {
				figures: rows,
				goals: { 'idle harness silent': rows.every(({ periods }) => periods === 'none') },
			};
		},
	},
	{
		name: 'places',
		run: () => {
			const choice = places(PLACE_YARDS, SEED);
			const { differ, rightFirst, toldBetter, wrongOrder, same, toldSame } = choice;
			say('\nTwo places, three visits each by turns, 2 min a visit:');
			say(
				`truth apart by more than 20 points: right one first in ${rightFirst} of ${differ}, told better in ${toldBetter}, the wrong one told better in ${wrongOrder}; alike: "no difference seen" in ${toldSame} of ${same}`,
			);
			return {
				figures: choice,
				goals: { 'right place first in 95 %': differ > 0 && rightFirst >= 0.95 * differ },
			};
		},
	},
	{
		name: 'lengths',
		run: () => {
			const rows = lengths(LENGTH_RUNS, SEED);
			say('\nHow run length sharpens the answer:');
			table(rows);
			return { figures: rows, goals: {} };
		},
	},
];

const asked = PARTS.filter(({ name }) => process.argv.includes(`--${name}`));
const results: Record<string, unknown> = {};
const goals: Record<string, boolean> = {};
for (const { name, run } of asked.length > 0 ? asked : PARTS) {
	const result = await run();
	results[name] = result.figures;
	Object.assign(goals, result.goals);
}
const context = benchContext();
if (JSON_ONLY)
	console.log(JSON.stringify({ bench: 'periodicity', quick: QUICK, context, ...results, goals }, null, '\t'));
say(
	`\ncommit ${context.commit}, node ${context.node}, ${context.cpu}, load ${context.loadAverage}, seed ${SEED}`,
);
for (const [goal, met] of Object.entries(goals))
	say(`${goal}: ${met ? (QUICK ? 'not missed in this quick look' : 'met') : 'MISSED'}`);
process.exitCode = Object.values(goals).every(Boolean) ? 0 : 1;
