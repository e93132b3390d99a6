/** An invented closed kit judged by the optical rig from a whole session of invented films, beside what is true of them. */
import { RunFolder } from '../register/runFolder.ts';
import { formatMs, formatShare } from '../report/numbers.ts';
import { filmInvented, type InventedFilm, inventedSession } from '../rigs/optical/inventedFilm.ts';
import { opticalRecords } from '../rigs/optical/opticalRecords.ts';
import { opticalTruth } from '../simulation/opticalTruth.ts';
import { standardCriteria } from '../verdict/criteria.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { judgeFolder, writeConclusion } from './conclude.ts';
import { answerBlock, paragraph, row } from './rehearsalText.ts';
import { TOOL_VERSION } from './version.ts';

const SEED = 20;
const NAME = 'Odderby Wren';
/** Half a step of rounding of what is printed. */
const READING_STEP_MS = 0.05;

export type OpticalRehearsal = {
	readonly folder: string;
	readonly result: ResultDocument;
	readonly truth: {
		readonly freshDelayMs: number;
		readonly meanAgeMs: number;
		readonly ageOverLimitRatio: number;
	};
	/** Delay and age lie within their own stated uncertainty of the truth. */
	readonly agrees: boolean;
	readonly deserved: { readonly steer: 'yes'; readonly record: 'undetermined' };
};

export function introduceOptical(): string {
	return `${NAME.toUpperCase()} (invented)\n${paragraph(
		'A closed box: no way in but its lens, no way out but its tablet. A phone films both screens, three times fast and once for five minutes.' +
			' The films are signals, without pixels; what is read from them, and how it is judged, is as with any kit.',
	)}`;
}

export async function rehearseOptical(root: string, name: string): Promise<OpticalRehearsal> {
	const films = inventedSession(SEED);
	const folder = await RunFolder.create(root, name);
	const records = opticalRecords({
		...{ runId: name, toolVersion: TOOL_VERSION, startedAt: new Date().toISOString(), kit: NAME },
		...{ invented: true, place: null, profile: 'verdict', turnedAsMeant: false, card: null, light: null },
		...{ clips: films.map(filmInvented), unread: [] },
	});
	for (const record of records) if (!folder.append(record)) await folder.drained();
	await folder.close();
	const conclusion = await judgeFolder(folder.path, standardCriteria);
	await writeConclusion(folder.path, conclusion);
	const truth = truthOf(films);
	const { result } = conclusion;
	return {
		...{ folder: folder.path, result, truth, agrees: agrees(result, truth) },
		deserved: { steer: 'yes', record: 'undetermined' },
	};
}

/** Delay from the fast films, age from the long one, as the rig reads them. */
function truthOf(films: readonly InventedFilm[]): OpticalRehearsal['truth'] {
	const truths = films.map(({ spec }) => opticalTruth(spec, 0, spec.durationMs));
	const long = truths.at(-1)!;
	const fast = truths.slice(0, -1);
	return {
		freshDelayMs: fast.reduce((sum, { freshDelayMs }) => sum + freshDelayMs, 0) / fast.length,
		meanAgeMs: long.meanAgeMs,
		ageOverLimitRatio: long.shareOver240Ratio,
	};
}

function agrees({ metrics, run }: ResultDocument, truth: OpticalRehearsal['truth']): boolean {
	const { freshDelay, pictureAge } = metrics;
	if (freshDelay.kind !== 'measured' || pictureAge.kind !== 'measured') return false;
	const doubtMs = 2 * run.systematicStandardMs + READING_STEP_MS;
	return (
		Math.abs(freshDelay.meanMs - truth.freshDelayMs) <= freshDelay.uncertaintyMs + READING_STEP_MS &&
		Math.abs(pictureAge.meanMs - truth.meanAgeMs) <= doubtMs
	);
}

export function describeOptical({
	folder,
	result,
	truth,
	agrees: holds,
	deserved,
}: OpticalRehearsal): string {
	const { freshDelay, pictureAge } = result.metrics;
	const rows: string[] = [row('A filmed session', 'read', 'true', '')];
	if (freshDelay.kind === 'measured')
		rows.push(
			row(
				'delay, scope to screen',
				formatMs(freshDelay.meanMs),
				formatMs(truth.freshDelayMs),
				`give or take ${formatMs(freshDelay.uncertaintyMs)}`,
			),
		);
	if (pictureAge.kind === 'measured') {
		const share = formatShare(pictureAge.shareOverLimitRatio);
		const doubt = `give or take ${formatMs(2 * result.run.systematicStandardMs)}`;
		rows.push(row('how old the picture is', formatMs(pictureAge.meanMs), formatMs(truth.meanAgeMs), doubt));
		rows.push(row('time with a picture too old', share, formatShare(truth.ageOverLimitRatio), ''));
	}
	rows.push(row('', '', '', holds ? 'both agree' : 'DIFFERS'));
	const because = 'about a ninth of a second late, evenly; its own recording was not given';
	return [...rows, answerBlock({ result, folder, deserved: { ...deserved, because } })].join('');
}
