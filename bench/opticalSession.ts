/**
 * Does a good kit get its "fit for live steering" from real files, and a late one its "not fit"? A whole session of each, four films by simulated
 * optics (three fast ones, one of 320 s at the ordinary rate), encoded by a real encoder, given to the command as a person gives them.
 *
 *     npx tsx bench/opticalSession.ts [--quick] [--json] [--only good]
 *
 * Takes some ten minutes a kit. `--quick`: no long film; what is missing must be asked for by name.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { OpticalSpec } from '../src/simulation/opticalSpec.ts';
import { madeSpec } from '../tests/reading/madeClip.ts';
import { filmClip } from '../tests/rigs/optical/filmedClip.ts';
import { benchContext, printTable } from './benchReport.ts';

const options = process.argv.slice(2);
const quick = options.includes('--quick');
const onlyAt = options.indexOf('--only');
const only = onlyAt < 0 ? null : options[onlyAt + 1]!;

const KITS = [
	{ name: 'good', delayMs: 60, expected: quick ? 'undetermined' : 'yes' },
	{ name: 'late', delayMs: 260, expected: 'no' },
] as const;
/** What stands in the result document and is asked for here. */
type Answered = {
	readonly verdict: { readonly steer: string; readonly record: string; readonly fitness: string };
	readonly metrics: { readonly freshDelay: { readonly kind: string; readonly medianMs?: number } };
};
type Row = {
	readonly kit: string;
	readonly steer: string;
	readonly fitness: string;
	readonly medianMs: number | null;
};

const rows: Row[] = [];
const missed: string[] = [];
for (const [i, kit] of KITS.entries()) {
	if (only !== null && kit.name !== only) continue;
	const { verdict, metrics } = judge(kit.name, await filmSession(kit.delayMs, 500 + 10 * i));
	const medianMs = metrics.freshDelay.medianMs ?? null;
	rows.push({ kit: kit.name, steer: verdict.steer, fitness: verdict.fitness, medianMs });
	if (verdict.steer !== kit.expected)
		missed.push(`${kit.name} kit: steer ${verdict.steer}, not ${kit.expected}`);
}
process.exitCode = missed.length > 0 ? 1 : 0;
report();

async function filmSession(delayMs: number, seed: number): Promise<string[]> {
	const paths: string[] = [];
	const link: OpticalSpec['link'] = {
		...{ delayMs, jitterMs: 5, lateRatio: 0.01, lateMs: 30, dropRatio: 0.01, freezes: [] },
	};
	const films = [
		...[1, 2, 3].map((take) => ({ take, phoneHz: 120, seconds: 23 })),
		...(quick ? [] : [{ take: 4, phoneHz: 30, seconds: 320 }]),
	];
	for (const { take, phoneHz, seconds } of films) {
		process.stderr.write(`filming ${take}: ${seconds} s at ${phoneHz} a second\n`);
		const spec = madeSpec([60, 30, phoneHz], seed + take, { link, durationMs: 1000 * seconds });
		// Each a start of the app of its own: its own draw of the delay.
		const restarted = { ...spec, link: { ...link, delayMs: delayMs + 2 * take } };
		paths.push((await filmClip(restarted, {}, { name: `film-${take}.mp4` })).path);
	}
	return paths;
}

/** The exit code tells the answer too, and is no failure. */
function judge(kit: string, paths: readonly string[]): Answered {
	const out = mkdtempSync(join(tmpdir(), 'steerworthy-session-'));
	const command = ['--import', 'tsx', join(import.meta.dirname, '../src/cli/main.ts'), 'optical', ...paths];
	const text = execFileSync(
		process.execPath,
		[...command, '--json', '--kit', `the ${kit} kit`, '--out', out],
		{
			...{ encoding: 'utf8', maxBuffer: 2 ** 28, stdio: ['ignore', 'pipe', 'inherit'] },
		},
	);
	return JSON.parse(text);
}

function report(): void {
	const context = benchContext();
	if (options.includes('--json')) {
		process.stdout.write(`${JSON.stringify({ ...context, rows, missed }, null, '\t')}\n`);
		return;
	}
	console.log(
		'Sessions of four films as files (three of 23 s at 120 a second, one of 320 s at 30), 480 x 270, x264',
	);
	console.log(
		`commit ${context.commit}, Node ${context.node}, ${context.cpu}, load ${context.loadAverage}\n`,
	);
	printTable(
		rows.map(({ kit, steer, fitness, medianMs }) => ({
			...{ kit, steer, fitness },
			'median delay': medianMs === null ? 'not measured' : `${medianMs.toFixed(1)} ms`,
		})),
	);
	console.log(
		missed.length === 0 ? '\nEvery goal met.' : `\nMissed:\n${missed.map((each) => `- ${each}`).join('\n')}`,
	);
}
