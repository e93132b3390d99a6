/** A kept run judged by other criteria on the console: shown first, and written over the kept result only when that is asked. */
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { readRegister } from '../register/registerFolder.ts';
import { readRunIndex } from '../register/runIndex.ts';
import { bulletList, html, nothing, paragraph, type SafePiece, section } from '../report/htmlParts.ts';
import { answerPart, linesPart } from '../report/htmlVerdict.ts';
import { presets } from '../verdict/presets.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { CRITERIA_FOLDER } from './registerCriteriaPage.ts';
import {
	button,
	type Choice,
	choiceField,
	getForm,
	hiddenField,
	postForm,
	REGISTER_PATH,
	registerPage,
	saidPart,
	tickField,
} from './registerFrame.ts';
import type { Answer } from './route.ts';

export const JUDGE_PATH = `${REGISTER_PATH}/judge` as const;
const OWN_FILE = 'file:';

/** What judging anew gives; `cli/judgeAgain.ts` does it, for it alone holds the whole way from observations to answer. */
type JudgedAgain = {
	readonly result: ResultDocument;
	readonly notes: readonly string[];
	/** The whole report as a page. */
	readonly report: () => Promise<string>;
	/** Writes result and report anew and seals the folder. */
	readonly write: () => Promise<void>;
};
export type JudgeAgain = (folder: string, criteria: string) => Promise<JudgedAgain>;

type Asked = { readonly root: string; readonly judgeAgain: JudgeAgain };

export async function judgePage({ root, judgeAgain }: Asked, query: URLSearchParams): Promise<Answer> {
	const [run, by] = [query.get('run') ?? '', query.get('by') ?? ''];
	const form = await askPart(root, run, by);
	if (run === '' || by === '') return registerPage('Judge again', [form]);
	const judged = await judgeAgain(await folderOf(root, run), await criteriaOf(root, by));
	if (query.get('whole') === 'yes')
		return { status: 200, type: 'text/html; charset=utf-8', body: await judged.report() };
	return registerPage('Judge again', [form, ...(await judgedParts(root, judged, { run, by }))]);
}

async function askPart(root: string, run: string, by: string): Promise<SafePiece> {
	const runs = (await readRunIndex(root)).filter(({ facts }) => facts !== null);
	if (runs.length === 0) return section('which', 'Which run', [paragraph('No run is kept here yet.')]);
	const files = await criteriaFiles(root);
	return section('which', 'Which run, by which criteria', [
		paragraph('The observations are read again; nothing is written yet.', 'small'),
		getForm(JUDGE_PATH, [
			choiceField(
				'run',
				'run',
				runs.map(({ folder }): Choice => [folder, folder]),
				run,
			),
			choiceField(
				'by',
				'criteria',
				[
					...[...presets.keys()].map((name): Choice => [name, name]),
					...files.map((file): Choice => [`${OWN_FILE}${file}`, `your own: ${file}`]),
				],
				by === '' ? 'standard' : by,
			),
			button('Judge it'),
		]),
	]);
}

type Choices = { readonly run: string; readonly by: string };

async function judgedParts(root: string, judged: JudgedAgain, { run, by }: Choices): Promise<SafePiece[]> {
	const { result, notes } = judged;
	const whole = new URLSearchParams({ run, by, whole: 'yes' });
	const entered = (await readRegister(root)).entries.has(result.run.id);
	return [
		answerPart(result),
		section('notes', 'Beside the kept result', [
			bulletList(notes),
			html`<p><a href="${JUDGE_PATH}?${whole.toString()}">The whole report by these criteria</a></p>`,
			html`<p><a href="${REGISTER_PATH}/hand?run=${encodeURIComponent(run)}">What its delay costs the hand</a></p>`,
		]),
		linesPart(result),
		section('write', 'Keep this answer instead', [
			entered
				? paragraph('This run is entered in the register, which will say that it was sealed again since.')
				: nothing,
			postForm(JUDGE_PATH, [
				...[hiddenField('run', run), hiddenField('by', by)],
				tickField('over', 'yes', 'write result and report over the kept ones; the observations stay'),
				button('Write and seal'),
			]),
		]),
	];
}

export async function judgeSent(
	{ root, judgeAgain }: Asked,
	fields: ReadonlyMap<string, string>,
): Promise<Answer> {
	const [run, by] = [fields.get('run') ?? '', fields.get('by') ?? ''];
	if (fields.get('over') !== 'yes')
		throw new RangeError('Tick that the kept result and report are written over; nothing is written yet.');
	const judged = await judgeAgain(await folderOf(root, run), await criteriaOf(root, by));
	await judged.write();
	return registerPage('Judge again', [
		saidPart(`${run} is kept as judged by ${judged.result.criteriaSet.name}, and sealed.`),
		answerPart(judged.result),
		html`<p><a href="/runs/${encodeURIComponent(run)}/report.html">Its report</a></p>`,
	]);
}

/** Only a folder that the register lists, so that no words of a request become a path of their own. */
export async function folderOf(root: string, run: string): Promise<string> {
	const rows = await readRunIndex(root);
	if (!rows.some(({ folder }) => folder === run)) throw new RangeError(`No run called ${run} is kept here.`);
	return join(root, run);
}

/** Criteria that were written from the page, by their file names. */
async function criteriaFiles(root: string): Promise<string[]> {
	const names = await readdir(join(root, CRITERIA_FOLDER)).catch(() => []);
	return names.filter((name) => name.endsWith('.json')).sort();
}

/** A built-in set's name, or the path of one of the files above. */
async function criteriaOf(root: string, by: string): Promise<string> {
	if (presets.has(by)) return by;
	const file = by.startsWith(OWN_FILE) ? by.slice(OWN_FILE.length) : '';
	if (!(await criteriaFiles(root)).includes(file))
		throw new RangeError(`No criteria called ${by} are kept here.`);
	return join(root, CRITERIA_FOLDER, file);
}
