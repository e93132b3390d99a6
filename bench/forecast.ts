/**
 * "About how much longer": of runs that leave a line open, how many are settled when the same link is watched on for as long as
 * the forecast says? A forecast supposes the same luck, so about half must be expected, not nearly all.
 *
 *     npx tsx bench/forecast.ts [--quick] [--json]
 *
 * No goal: the report says "about", and this prints how much that is worth.
 */
import { boundShare } from '../src/statistics/episodeBound.ts';
import { type LevelCurve, levelQuantile } from '../src/statistics/levelCurve.ts';
import { moreTimeMs } from '../src/statistics/moreTime.ts';
import { createRandom } from '../src/statistics/random.ts';
import { benchContext, printTable } from './benchReport.ts';
import { drawCurve, type Process, processes } from './processes.ts';

const ALLOWED_RATIO = 0.05;
const FIRST_LOOK_S = 310;
const DISPLAY_WAIT_MS = 1000 / 60;
const CALIBRATION_SEED = 9_100_001;
const RUN_SEED = 6_000_000;
const TRUE_RATIOS = [0.02, 0.12];
const NAMES = ['markov3slow', 'telegraph2.5', 'queue', 'herd', 'expWander', 'ladder', 'pareto'];

const quick = process.argv.includes('--quick');
const runsPerRow = quick ? 40 : 200;

type Row = {
	readonly process: string;
	readonly trueRatio: number;
	readonly openRatio: number;
	/** Of the open ones: told that longer will not settle it. */
	readonly hopeless: number;
	readonly told: number;
	readonly medianToldS: number | null;
	/** Of those told a time: settled after it, and settled wrongly. */
	readonly settled: number;
	readonly wrong: number;
};

main();

function main(): void {
	const rows = processes
		.filter(({ name }) => NAMES.includes(name))
		.flatMap((one) => TRUE_RATIOS.map((trueRatio) => forecastRow(one, trueRatio)));
	const context = benchContext();
	if (process.argv.includes('--json')) {
		console.log(
			JSON.stringify({ bench: 'forecast', quick, context, CALIBRATION_SEED, RUN_SEED, rows }, null, '\t'),
		);
		return;
	}
	console.log(
		`Open after ${FIRST_LOOK_S} s, of ${runsPerRow} runs; told how much longer; settled after it; wrong.\n`,
	);
	printTable(
		rows.map((row) => ({
			process: row.process,
			'true share': `${100 * row.trueRatio} %`,
			open: `${(100 * row.openRatio).toFixed(0)} %`,
			hopeless: String(row.hopeless),
			told: String(row.told),
			'median told s': row.medianToldS === null ? '-' : String(row.medianToldS),
			settled: String(row.settled),
			wrong: String(row.wrong),
		})),
	);
	const sum = (of: (row: Row) => number): number => rows.reduce((total, row) => total + of(row), 0);
	console.log(
		`\nsettled ${sum(({ settled }) => settled)} of ${sum(({ told }) => told)}, wrongly ${sum(({ wrong }) => wrong)}`,
	);
	console.log(
		`seeds from ${RUN_SEED}, commit ${context.commit}, node ${context.node}, load ${context.loadAverage}`,
	);
}

function forecastRow(one: Process, trueRatio: number): Row {
	const limitMs = levelQuantile(drawCurve(one, 100_000, createRandom(CALIBRATION_SEED)), 1 - trueRatio);
	const toldS: number[] = [];
	let open = 0;
	let settled = 0;
	let wrong = 0;
	for (let run = 0; run < runsPerRow; run++) {
		const first = stateOf(one, { limitMs, run, seconds: FIRST_LOOK_S });
		if (first.state !== 'open') continue;
		open++;
		if (first.moreMs === null || first.moreMs === 0) continue;
		const moreS = first.moreMs / 1000;
		toldS.push(moreS);
		const { state } = stateOf(one, { limitMs, run, seconds: FIRST_LOOK_S + moreS });
		if (state !== 'open') settled++;
		if (state === (trueRatio > ALLOWED_RATIO ? 'met' : 'notMet')) wrong++;
	}
	return {
		process: one.name,
		trueRatio,
		openRatio: open / runsPerRow,
		hopeless: open - toldS.length,
		told: toldS.length,
		medianToldS: toldS.toSorted((a, b) => a - b)[Math.floor(toldS.length / 2)] ?? null,
		settled,
		wrong,
	};
}

type Look = { readonly limitMs: number; readonly run: number; readonly seconds: number };

/** The same seed draws the same link, so that a longer look begins with the shorter one. */
function stateOf(one: Process, { limitMs, run, seconds }: Look): { state: string; moreMs: number | null } {
	const curve: LevelCurve = drawCurve(one, seconds, createRandom(RUN_SEED + run));
	const bound = boundShare(curve, limitMs, { immaterialMs: DISPLAY_WAIT_MS });
	const met = bound.upperRatio !== null && bound.upperRatio <= ALLOWED_RATIO;
	const notMet = bound.lowerRatio !== null && bound.lowerRatio > ALLOWED_RATIO;
	const moreMs = moreTimeMs({ ...bound, allowedRatio: ALLOWED_RATIO, observedMs: curve.totalMs });
	return { state: met ? 'met' : notMet ? 'notMet' : 'open', moreMs };
}
