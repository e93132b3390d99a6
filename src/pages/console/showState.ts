/** Puts the console's state on the page. Computes no figure: words and units only. */
import type { ConsoleState, LadderStep, Live } from '../../protocol/console.ts';
import { element, fill, items, make, setHidden, setText, terms } from './elements.ts';

type Run = NonNullable<ConsoleState['run']>;
type Door = NonNullable<ConsoleState['door']>;

export function showState(state: ConsoleState, isResultPutAway: boolean): void {
	const { run, door, result, trouble } = state;
	const showsResult = run === null && result !== null && !isResultPutAway;
	setHidden('trouble', trouble === null);
	if (trouble !== null) setText('trouble', `${trouble.happened} ${trouble.advice}`);
	setHidden('run', run === null);
	if (run !== null) showRun(run);
	setHidden('result', !showsResult);
	if (showsResult) showResult(result);
	const isOnItsWay = run === null || run.stage === 'waiting' || run.stage === 'starting';
	// The way to the picture stays in sight until the picture has found it.
	setHidden('setUp', showsResult || !(isOnItsWay || state.offersWebSocket));
	setHidden('door', door === null);
	setHidden('begin', door === null || run !== null);
	if (door !== null) showDoor(door);
	fill('ladder', state.ladder.map(ladderItem));
	setHidden('udpShut', !state.offersWebSocket);
	fill('costs', items(state.costs));
	fill(
		'checks',
		state.checks.map(({ name, state: result, words }) => make('li', checkText(name, result, words), result)),
	);
	element('getReady', HTMLButtonElement).disabled =
		run !== null || state.checks.some(({ state: one }) => one === 'running');
}

function checkText(name: string, state: string, words: string): string {
	const mark = state === 'pass' ? 'Good' : state === 'fail' ? 'Not yet' : 'Trying';
	return `${mark}: ${name}. ${words}`;
}

const STEP_WORDS = {
	done: 'done',
	now: 'waiting for it now',
	later: 'comes later',
	failed: 'has not come yet; likely causes:',
	notNeeded: 'not needed',
} as const;

export function ladderItem({ state, title, words }: LadderStep): HTMLElement {
	const item = make('li', `${title}: ${STEP_WORDS[state]}`, state);
	if (words.length > 0) {
		const list = document.createElement('ul');
		list.className = 'small';
		list.append(...items(words));
		item.append(list);
	}
	return item;
}

/** The parts of a page called as these are: code, address, what to trust. */
export function showDoor(door: Door): void {
	const { pairUrl, code, qr, refused, https, fingerprint, certificateFile, advice } = door;
	fill('advice', items(advice));
	setText('address', pairUrl.split('?')[0] ?? '');
	setText('code', code);
	setText('refused', refused === null ? '' : `Someone was turned away: ${REFUSED[refused] ?? refused}.`);
	setHidden('trust', !https);
	setText('fingerprint', fingerprint ?? '');
	setText('certificateFile', certificateFile ?? '');
	drawQr(qr);
}
const REFUSED: Readonly<Record<string, string>> = {
	wrong: 'the code was wrong',
	old: 'the code was used or old already',
	tooMany: 'too many wrong codes in a minute',
};

function drawQr(rows: readonly string[]): void {
	const svg = element('qr', SVGElement);
	const path = rows
		.flatMap((row, y) => [...row].map((module, x) => (module === '1' ? `M${x} ${y}h1v1h-1z` : '')))
		.join('');
	if (svg.querySelector('path')?.getAttribute('d') === path) return;
	svg.setAttribute('viewBox', `0 0 ${rows.length} ${rows.length}`);
	const drawn = document.createElementNS('http://www.w3.org/2000/svg', 'path');
	drawn.setAttribute('d', path);
	svg.replaceChildren(drawn);
}

export const STAGES = {
	starting: ['Starting', 'The picture is being made ready.'],
	waiting: ['Waiting for the tablet', 'Tap Start on the tablet.'],
	warmUp: ['Warming up', 'Nothing counts yet.'],
	measuring: ['Measuring', ''],
	ending: ['Collecting the last pictures', 'What is still on its way may arrive.'],
	judging: ['Judging', ''],
} as const;

function showRun({ stage, observedMs, targetMs, live }: Run): void {
	const [title, words] = STAGES[stage];
	setText('runTitle', title);
	const leftSeconds = Math.max(0, Math.ceil((targetMs - observedMs) / 1000));
	setText('stage', stage === 'measuring' ? `${leftSeconds} s left to observe` : words);
	element('progress', HTMLProgressElement).value = Math.min(1, observedMs / targetMs);
	setText('age', milliseconds(live.ageMeanMs));
	setText('ageP95', milliseconds(live.ageP95Ms));
	setText('unevenness', milliseconds(live.unevennessMs));
	setText('lost', live.settledCount === 0 ? '–' : `${live.lostCount} of ${live.settledCount}`);
	fill('liveRows', terms(liveRows(live)));
}

function liveRows(live: Live): [string, string][] {
	const making = live.encodeMs === null ? '' : `; making a picture takes ${milliseconds(live.encodeMs)}`;
	const busy = live.busyRatio === null ? 'not known' : `${Math.round(live.busyRatio * 100)} % busy`;
	const rows: [string, string][] = [
		['delay, made to shown', `${milliseconds(live.delayMedianMs)} in the middle`],
		['longest wait between two pictures', `${milliseconds(live.longestGapMs)} in ten seconds`],
		['not drawn by this display', `${live.notDrawnCount}, arrived in time all the same`],
		['this laptop', `${busy}${making}; itself late by ${milliseconds(live.loopDelayMs)} at most`],
	];
	if (live.watchingCount > 0)
		rows.push([
			'looking on',
			`${live.watchingCount} more; they share the air, and are in no figure but by that`,
		]);
	return rows;
}

export function milliseconds(value: number | null): string {
	return value === null ? '–' : `${value < 10 ? value.toFixed(1) : Math.round(value)} ms`;
}

function showResult(result: NonNullable<ConsoleState['result']>): void {
	element('frame', HTMLElement).className = `frame ${result.fitness}`;
	setText('headline', result.headline.charAt(0).toUpperCase() + result.headline.slice(1));
	setText('order', result.order);
	fill(
		'answers',
		terms([
			['judged', result.subject],
			...(result.roomLeft === null ? [] : [['room left', result.roomLeft] as const]),
			['this run', result.speaksFor],
		]),
	);
	fill('figures', terms(result.figures));
	fill('warnings', items(result.warnings));
	element('report', HTMLAnchorElement).href = result.reportUrl;
}
