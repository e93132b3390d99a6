/**
 * Is P95 of the picture's age true in films of ordinary rate, whose pictures have no frame to themselves? There it rests on frames' ages, each growing
 * through its frame's own time, since no curve can be rebuilt. Invented films of 320 s with known truth through the whole path to the metric: true P95 within
 * what is told, from reading - U to reading + hidden peaks + U (U: 95 % of the stated doubt), and not over the told bound.
 *
 *     npx tsx bench/opticalPeaks.ts [--quick] [--json] [--films N] [--only 60/30/30]
 *
 * Display 60, 120 Hz x scope 25, 30, 60/s x phone 30, 60 frames/s, clocks drifting, of each a usual and a rough way (late pictures, freezes) at a short exposure
 * and a good one at an exposure as long as a frame.
 */
import { measureClip } from '../src/reading/measureClip.ts';
import { opticalSignal } from '../src/simulation/opticalSignal.ts';
import { type OpticalSpec, usualOpticalSpec } from '../src/simulation/opticalSpec.ts';
import { opticalTruth } from '../src/simulation/opticalTruth.ts';
import { madeClip, madeSpec } from '../tests/reading/madeClip.ts';
import { goodLink, judgeFilmed } from '../tests/rigs/optical/filmedSession.ts';
import { benchContext, printTable } from './benchReport.ts';

const Z = 1.96;

type Told = {
	readonly errorMs: number;
	readonly within: boolean;
	readonly bounded: boolean;
	readonly doubtMs: number;
};
type Row = { readonly film: string; readonly told: readonly Told[]; readonly untold: number };

const options = process.argv.slice(2);
const quick = options.includes('--quick');
const films = Number(optionOf('--films') ?? 1);
const only = optionOf('--only');
const durationMs = quick ? 60_000 : 320_000;

const rough = {
	...{ delayMs: 150, jitterMs: 15, lateRatio: 0.03, lateMs: 60, dropRatio: 0.02 },
	freezes: Array.from({ length: 15 }, (_, i) => ({
		fromMs: 5000 + 20_000 * i + 137 * i,
		forMs: 300 + 100 * (i % 9),
	})),
};
const WAYS = [
	{ name: 'usual', link: usualOpticalSpec.link, share: 0.3 },
	{ name: 'rough', link: rough, share: 0.3 },
	{ name: 'good, full exposure', link: goodLink, share: 0.99 },
];

const rows = [60, 120].flatMap((displayHz) =>
	[25, 30, 60].flatMap((scopeHz) =>
		[30, 60]
			.filter((phoneHz) => only === undefined || only === `${displayHz}/${scopeHz}/${phoneHz}`)
			.flatMap((phoneHz) => WAYS.map((way) => judgeRow([displayHz, scopeHz, phoneHz], way))),
	),
);
const told = rows.flatMap((row) => row.told);
const missed = told.filter(({ within, bounded }) => !within || !bounded).length;
report();
process.exitCode = missed > 0.05 * told.length ? 1 : 0;

function judgeRow(
	rates: readonly [number, number, number],
	{ name, link, share }: (typeof WAYS)[number],
): Row {
	const seen: Told[] = [];
	let untold = 0;
	for (let seed = 1; seed <= films; seed++) {
		const spec = madeSpec(rates, seed, { durationMs, link });
		const judged = judge({ ...spec, phone: { ...spec.phone, exposureMs: share * spec.phone.periodMs } });
		if (judged === null) untold++;
		else seen.push(judged);
	}
	const row = { film: `${rates.join('/')} ${name}`, told: seen, untold };
	process.stderr.write(`${Object.values(toCells(row)).join('  ')}\n`);
	return row;
}

/** Null: P95 not told. */
function judge(spec: OpticalSpec): Told | null {
	const signal = opticalSignal(spec);
	const measured = measureClip(madeClip(spec, signal));
	if (measured.kind !== 'measured') throw new Error(measured.explanation);
	const [piece] = measured.pieces;
	const truth = opticalTruth(spec, signal.trueMs[piece!.piece.from]!, signal.trueMs[piece!.piece.until - 1]!);
	const clip = { kind: 'clip', name: 'film', transfer: 'usual', measured, notes: [] } as const;
	const { pictureAge, facts } = judgeFilmed([clip]).metrics;
	if (pictureAge.kind === 'notMeasured' || pictureAge.p95Ms === null) return null;
	const errorMs = pictureAge.p95Ms - truth.p95AgeMs;
	const hiddenMs = 2 * facts.systematicCentreMs;
	const doubtMs = Z * piece!.budget.standardMs;
	return {
		errorMs,
		doubtMs,
		within: errorMs <= doubtMs && errorMs >= -hiddenMs - doubtMs,
		bounded: pictureAge.p95UpperMs === null || pictureAge.p95UpperMs >= truth.p95AgeMs,
	};
}

function report(): void {
	const context = benchContext();
	if (options.includes('--json')) {
		process.stdout.write(`${JSON.stringify({ ...context, durationMs, rows, missed }, null, '\t')}\n`);
		return;
	}
	console.log(
		`P95 of age in films of ordinary rate: ${films} of ${durationMs / 1000} s a row, seeds 1 to ${films}`,
	);
	console.log(
		`commit ${context.commit}, Node ${context.node}, ${context.cpu}, load ${context.loadAverage}\n`,
	);
	printTable(rows.map(toCells));
	const errors = told.map(({ errorMs }) => errorMs);
	console.log(
		`\nTold in ${told.length} films: off by ${Math.min(...errors).toFixed(1)} to ${Math.max(...errors).toFixed(1)} ms; within what is told but in ${missed}.`,
	);
}

function toCells({ film, told: seen, untold }: Row) {
	const mean = (values: readonly number[]) =>
		values.length === 0 ? '-' : (values.reduce((sum, value) => sum + value, 0) / values.length).toFixed(2);
	return {
		film,
		'P95 off, ms': mean(seen.map(({ errorMs }) => errorMs)),
		'+- ms': mean(seen.map(({ doubtMs }) => doubtMs)),
		within: seen.filter(({ within }) => within).length,
		bounded: seen.filter(({ bounded }) => bounded).length,
		of: seen.length,
		untold,
	};
}

function optionOf(name: string): string | undefined {
	const place = options.indexOf(name);
	return place < 0 ? undefined : options[place + 1];
}
