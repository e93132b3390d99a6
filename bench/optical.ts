/**
 * How good is the optical rig's reading, at signal level: invented clips with known truth through the whole of `measureClip`.
 *
 *     npx tsx bench/optical.ts [--quick] [--json] [--clips N] [--only 60/30/120] [--mode drift|lock|ordinary]
 *
 * Display 60, 120 Hz x scope 25, 30, 60/s x phone 60, 120, 240 frames/s, clocks drifting (0.6 to 1.4e-3 apart) or in exact lock; then clips
 * of ordinary rate, ten minutes long. Bias of mean age and of fresh delay, P95 of age, and whether truth lies within the stated 95 %
 * uncertainty. A row misses a goal only when chance cannot explain it (95 %). In lock one phase is seen and no reading can know which: the mean over many
 * clips has no bias, each clip its stated doubt, and P95 is left untold (`phaseStands`). Pixels, codecs and finding are not in it.
 */
import { clopperPearson } from '../src/statistics/wilson.ts';
import { judgeMade, madeSpec } from '../tests/reading/madeClip.ts';
import { benchContext, printTable } from './benchReport.ts';

const Z = 1.96;
const GOAL_MS = { fast: 0.3, slow: 0.5 };
const GOAL_P95_MS = 0.5;
const GOAL_UNCERTAINTY_MS = 3;
const GOAL_SHARE = 0.005;

type Rates = readonly [displayHz: number, scopeHz: number, phoneHz: number];
type Mode = 'drift' | 'lock';
type Row = {
	readonly rates: Rates;
	readonly mode: Mode;
	readonly clips: number;
	/** Clips that could not be measured. */
	readonly refused: number;
	readonly age: Spread;
	readonly fresh: Spread;
	/** Null: in none of the clips. */
	readonly p95: Spread | null;
	readonly coveredRatio: number;
	readonly medianUncertaintyMs: number;
	readonly missed: readonly string[];
};
type Spread = { readonly count: number; readonly mean: number; readonly sd: number; readonly most: number };

const options = process.argv.slice(2);
const quick = options.includes('--quick');
const json = options.includes('--json');
const clipsAsked = Number(optionOf('--clips') ?? (quick ? 8 : 400));
const only = optionOf('--only');
/** Fourteen seconds see most of a beat; the goals are for twenty. */
const durationMs = quick ? 14_000 : 20_000;

const onlyMode = optionOf('--mode');
const rows = allRows().map(([rates, mode]) => noted(judgeRow(rates, mode)));
const withOrdinary = only === undefined && (onlyMode === undefined || onlyMode === 'ordinary');
const ordinary = withOrdinary ? [30, 60].map((phoneHz) => judgeOrdinary(phoneHz)) : [];
const missed = [...rows, ...ordinary].flatMap((row) => row.missed);
report();
process.exitCode = missed.length > 0 ? 1 : 0;

function allRows(): (readonly [Rates, Mode])[] {
	const all: (readonly [Rates, Mode])[] = [];
	for (const mode of ['drift', 'lock'] as const) {
		if (onlyMode !== undefined && onlyMode !== mode) continue;
		for (const phoneHz of [60, 120, 240])
			for (const displayHz of [60, 120])
				for (const scopeHz of [25, 30, 60]) all.push([[displayHz, scopeHz, phoneHz], mode]);
	}
	return only === undefined ? all : all.filter(([rates]) => rates.join('/') === only);
}

/** An hour's bench tells how far it has come. */
function noted(row: Row): Row {
	process.stderr.write(`${Object.values(toCells(row)).join('  ')}\n`);
	return row;
}

function judgeRow(rates: Rates, mode: Mode): Row {
	const ages: number[] = [];
	const fresh: number[] = [];
	const p95s: number[] = [];
	const uncertainties: number[] = [];
	let covered = 0;
	let refused = 0;
	for (let seed = 1; seed <= clipsAsked; seed++) {
		const spec = madeSpec(rates, seed + (mode === 'lock' ? 100_000 : 0), { mode, durationMs });
		const judged = attempt(() => judgeMade(spec));
		if (judged === null) {
			refused++;
			continue;
		}
		const { measured, truth, errorMs } = judged;
		const piece = measured.pieces[0]!;
		const uncertaintyMs = Z * piece.budget.standardMs;
		ages.push(errorMs);
		fresh.push(piece.freshDelayMs - truth.freshDelayMs);
		uncertainties.push(uncertaintyMs);
		if (Math.abs(errorMs) <= uncertaintyMs) covered++;
		const { curve } = piece.shown;
		if (curve.kind === 'curve' && curve.p95Ms !== null) p95s.push(curve.p95Ms - truth.p95AgeMs);
	}
	const row = {
		...{ rates, mode, clips: clipsAsked, refused, age: spread(ages), fresh: spread(fresh) },
		p95: p95s.length === 0 ? null : spread(p95s),
		coveredRatio: covered / ages.length,
		medianUncertaintyMs: median(uncertainties),
	};
	return { ...row, missed: missedGoals(row, covered) };
}

function attempt<T>(make: () => T): T | null {
	try {
		return make();
	} catch {
		return null;
	}
}

function missedGoals(row: Omit<Row, 'missed'>, covered: number): string[] {
	const [displayHz, scopeHz, phoneHz] = row.rates;
	const name = `${displayHz}/${scopeHz}/${phoneHz} ${row.mode}`;
	const goal = phoneHz >= 120 ? GOAL_MS.fast : GOAL_MS.slow;
	const missed: string[] = [];
	if (beyond(row.age, goal)) missed.push(`${name}: bias of mean age ${row.age.mean.toFixed(2)} ms`);
	if (beyond(row.fresh, goal)) missed.push(`${name}: bias of fresh delay ${row.fresh.mean.toFixed(2)} ms`);
	if (row.p95 !== null && phoneHz >= 120 && beyond(row.p95, GOAL_P95_MS))
		missed.push(`${name}: bias of P95 ${row.p95.mean.toFixed(2)} ms`);
	const { upperRatio: upper } = clopperPearson(covered, row.age.count, 0.95);
	if (upper < 0.95) missed.push(`${name}: uncertainty covers ${Math.round(100 * row.coveredRatio)} %`);
	if (phoneHz === 120 && row.mode === 'drift' && row.medianUncertaintyMs > GOAL_UNCERTAINTY_MS)
		missed.push(`${name}: median uncertainty ${row.medianUncertaintyMs.toFixed(1)} ms`);
	return missed;
}

/** Whether the mean is further from zero than the goal by more than chance. */
function beyond({ mean, sd, count }: Spread, goal: number): boolean {
	// Student's t by its first correction: 2.36 for 8 clips is met to 2 %.
	const t = Z + 2.5 / Math.max(1, count - 1);
	return Math.abs(mean) - (t * sd) / Math.sqrt(count) > goal;
}

type Ordinary = {
	readonly phoneHz: number;
	readonly clips: number;
	readonly share: Spread;
	readonly trueShareRatio: number;
	readonly age: Spread;
	readonly missed: readonly string[];
};

/** Ten minutes at an ordinary rate, with late spells and freezes: the share of time with an age over 240 ms, from frames' ages. */
function judgeOrdinary(phoneHz: number): Ordinary {
	const clips = quick ? 1 : 10;
	const shares: number[] = [];
	const ages: number[] = [];
	let trueShare = 0;
	for (let seed = 1; seed <= clips; seed++) {
		const lengthMs = quick ? 60_000 : 600_000;
		const freezes = Array.from({ length: Math.floor(lengthMs / 20_000) }, (_, i) => ({
			fromMs: 5000 + 20_000 * i + 137 * ((i * seed) % 29),
			forMs: 300 + 100 * ((i + seed) % 9),
		}));
		const link = { delayMs: 150, jitterMs: 15, lateRatio: 0.03, lateMs: 60, dropRatio: 0.02, freezes };
		const { measured, truth, errorMs } = judgeMade(
			madeSpec([60, 30, phoneHz], seed, { durationMs: lengthMs, link }),
		);
		const { samples } = measured.pieces[0]!;
		const overMs = samples.reduce((sum, { ageMs, weightMs }) => sum + overIn(ageMs, weightMs), 0);
		const allMs = samples.reduce((sum, { weightMs }) => sum + weightMs, 0);
		shares.push(overMs / allMs - truth.shareOver240Ratio);
		trueShare += truth.shareOver240Ratio / clips;
		ages.push(errorMs);
	}
	const share = spread(shares);
	const name = `ordinary rate, ${phoneHz}/s`;
	const missed = beyond(share, GOAL_SHARE)
		? [`${name}: share over 240 ms off by ${(100 * share.mean).toFixed(2)} points`]
		: [];
	return { phoneHz, clips, share, trueShareRatio: trueShare, age: spread(ages), missed };
}

/** As the metrics read it: the age grows through the frame's own time. */
function overIn(ageMs: number, weightMs: number): number {
	return Math.min(weightMs, Math.max(0, ageMs + weightMs / 2 - 240));
}

function spread(values: readonly number[]): Spread {
	const count = values.length;
	const mean = values.reduce((sum, value) => sum + value, 0) / Math.max(1, count);
	const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
	return {
		count,
		mean,
		sd: Math.sqrt(squares / Math.max(1, count - 1)),
		most: Math.max(0, ...values.map(Math.abs)),
	};
}

function median(values: readonly number[]): number {
	return [...values].sort((a, b) => a - b)[values.length >> 1] ?? 0;
}

function report(): void {
	const context = benchContext();
	if (json) {
		process.stdout.write(
			`${JSON.stringify({ ...context, durationMs, rows, ordinary, missed }, null, '\t')}\n`,
		);
		return;
	}
	console.log(
		`Optical reading, signal level: ${clipsAsked} clips of ${durationMs / 1000} s a row, seeds 1 to ${clipsAsked}`,
	);
	console.log(`commit ${context.commit}, Node ${context.node}, ${context.cpu}, load ${context.loadAverage}`);
	console.log('Errors in ms: mean (sd, greatest). Rates: display Hz / scope pictures/s / phone frames/s.\n');
	printTable(rows.map(toCells));
	console.log('');
	if (ordinary.length > 0) printTable(ordinary.map(ordinaryCells));
	console.log(
		missed.length === 0 ? '\nEvery goal met.' : `\nMissed:\n${missed.map((each) => `- ${each}`).join('\n')}`,
	);
}

function toCells({ rates, mode, age, fresh, p95, coveredRatio, medianUncertaintyMs, refused }: Row) {
	return {
		rig: `${rates.join('/')} ${mode}`,
		'mean age': cell(age),
		'fresh delay': cell(fresh),
		'P95 age': p95 === null ? 'not measured' : `${cell(p95)} in ${p95.count}`,
		'covered %': Math.round(1000 * coveredRatio) / 10,
		'+- ms': medianUncertaintyMs.toFixed(2),
		refused,
	};
}

function ordinaryCells({ phoneHz, clips, share, trueShareRatio, age }: Ordinary) {
	return {
		rig: `60/30/${phoneHz}, 10 min`,
		clips,
		'true share over 240 ms, %': (100 * trueShareRatio).toFixed(2),
		'error, points': `${(100 * share.mean).toFixed(3)} (most ${(100 * share.most).toFixed(3)})`,
		'mean age': cell(age),
	};
}

function cell({ mean, sd, most }: Spread): string {
	return `${mean.toFixed(2)} (${sd.toFixed(2)}, ${most.toFixed(2)})`;
}

function optionOf(name: string): string | undefined {
	const place = options.indexOf(name);
	return place < 0 ? undefined : options[place + 1];
}
