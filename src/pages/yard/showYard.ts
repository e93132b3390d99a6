/** Puts the yard check on the page: one part at a time, by the step that is next. Computes no figure. */
import type { ConsoleState } from '../../protocol/console.ts';
import type { YardCheck, YardOrder } from '../../protocol/yard.ts';
import { element, fill, items, make, setHidden, setText } from '../console/elements.ts';
import { ladderItem, milliseconds, STAGES, showDoor } from '../console/showState.ts';

/** The answer or the last screen, turned to by hand; `lost`: the last screen, because the console is gone. */
export type Turn = 'answer' | 'kit' | 'lost' | null;
export type YardHands = { readonly order: (what: YardOrder) => void };

const PARTS = [
	'open',
	'askWifi',
	'askMinutes',
	'askPlaces',
	'askChannel',
	'film',
	'look',
	'run',
	'note',
	'answer',
	'kit',
	'done',
] as const;
type Part = (typeof PARTS)[number];

const WAY: readonly (readonly [words: string, parts: readonly Part[]])[] = [
	['Whose Wi-Fi', ['askWifi']],
	['How long', ['askMinutes']],
	['Places', ['askPlaces', 'askChannel']],
	['Look', ['look', 'run', 'note', 'film']],
	['Answer', ['answer']],
	['Back to the kit', ['kit', 'done']],
];

const AGAIN = [
	['visit', 'two minutes more'],
	['verdict', 'a run that answers'],
	['company', 'while others look on'],
	['walk', 'walking away and back'],
	['endurance', 'half an hour, what changes'],
] as const;

/** Nothing is on there that could be stopped. */
const WITHOUT_STOP: readonly Part[] = ['open', 'answer', 'kit', 'done', 'film'];

let shownPart: Part = 'open';

export function showYard(state: ConsoleState, turned: Turn, hands: YardHands): void {
	const { check, refused, kept } = state.yard;
	const part = partOf(state, turned);
	const { trouble } = state;
	const words = refused ?? (trouble === null ? '' : `${trouble.happened} ${trouble.advice}`);
	setHidden('trouble', words === '');
	setText('trouble', words);
	for (const name of PARTS) setHidden(name, name !== part);
	if (part !== shownPart) scrollTo(0, 0);
	shownPart = part;
	setText('name', check?.name ?? '');
	setHidden('stopBar', check?.isStopped === true || WITHOUT_STOP.includes(part));
	fill('way', check === null ? [] : WAY.map(([title, parts]) => wayItem(title, parts.includes(part))));
	showKept(kept, hands);
	if (check === null) return;
	showQuestions(check, hands);
	fill('filmWords', items(check.film));
	if (part === 'look') showLook(state, check, hands);
	if (part === 'run') showRun(state, check);
	setHidden('sheetPart', state.door === null);
	setText('sheet', state.door === null ? '' : new URL('/yard', state.door.pairUrl).href);
	if (part === 'answer') showAnswer(check, hands);
	if (part === 'kit') showKit(state, check, turned === 'lost');
}

function partOf({ run, yard: { check } }: ConsoleState, turned: Turn): Part {
	if (check === null) return 'open';
	if (turned === 'lost') return 'kit';
	if (check.isMeasuring && run !== null) return 'run';
	if (check.walkToNote !== null && !check.isMeasuring) return 'note';
	switch (check.step) {
		case 'filmInstead':
			return 'film';
		case 'visit':
		case 'verdict':
		case 'company':
		case 'walk':
		case 'endurance':
			return 'look';
		case 'backToKit':
			return turned ?? 'answer';
		case 'done':
			return turned ?? 'done';
		default:
			return check.step;
	}
}

function wayItem(title: string, isHere: boolean): HTMLElement {
	const item = make('li', title);
	if (isHere) item.setAttribute('aria-current', 'step');
	return item;
}

function showKept(kept: ConsoleState['yard']['kept'], { order }: YardHands): void {
	setHidden('keptPart', kept.length === 0);
	buttons(
		'kept',
		kept.map(({ name, startedAt, isDone }) => [
			`${name}, ${startedAt.slice(0, 16).replace('T', ' ')}${isDone ? ', done' : ', left open'}`,
			() => order({ kind: 'open', name }),
		]),
	);
}

function showQuestions({ wifiWords, places }: YardCheck, { order }: YardHands): void {
	buttons(
		'wifi',
		wifiWords.map(([wifi, words]) => [
			words.charAt(0).toUpperCase() + words.slice(1),
			() => {
				if (wifi === 'kit' || wifi === 'shared' || wifi === 'laptop' || wifi === 'shutOut')
					order({ kind: 'wifi', wifi });
			},
		]),
	);
	const looks = JSON.stringify(places);
	const list = element('named', HTMLElement);
	if (list.dataset['looks'] === looks) return;
	list.dataset['looks'] = looks;
	list.replaceChildren(
		...places.map(({ name, where }, place) => {
			const item = make('li', '');
			const away = make('button', 'Take out', 'quiet');
			away.type = 'button';
			away.setAttribute('aria-label', `Take out ${name}`);
			away.onclick = () => order({ kind: 'dropPlace', place });
			item.append(make('span', where === '' ? name : `${name}, ${where}`), away);
			return item;
		}),
	);
}

function showLook(state: ConsoleState, check: YardCheck, { order }: YardHands): void {
	const { next, step, roles, plan, channel, places, isMeasuring } = check;
	const { door, ladder } = state;
	setText('lookTitle', next?.name ?? '');
	setText('lookWords', next?.words ?? '');
	setHidden('door', door === null);
	if (door !== null) showDoor(door);
	const isIn = ladder.some(({ name, state: how }) => name === 'socket' && how === 'done');
	setHidden('doorPart', isIn);
	fill('ladder', ladder.map(ladderItem));
	fill('roleWords', items(roles));
	element('measure', HTMLButtonElement).disabled = door === null || isMeasuring;
	setText(
		'measureHint',
		isMeasuring
			? 'One moment: the run before is being judged.'
			: door === null
				? 'First the code for the tablet.'
				: `Then tap Start on the tablet.${step === 'company' ? ' A second and a third tablet open the same page by the codes that follow, and tap "Look on".' : ''}`,
	);
	fill('plan', items(plan));
	fill('channelWords', items(channel));
	setHidden('again', places.length < 2 || step !== 'visit');
	buttons(
		'againList',
		places.map(({ name, runs }, place) => [
			`${name}${runs === '' ? '' : ` (${runs})`}`,
			() => order({ kind: 'want', run: 'visit', place }),
		]),
	);
}

function showRun({ run, door }: ConsoleState, { next }: YardCheck): void {
	if (run === null) return;
	const { stage, observedMs, targetMs, live } = run;
	const [title, words] = STAGES[stage];
	setText('runTitle', title);
	setText('runWords', next === null ? '' : `${next.name}: ${next.words}`);
	const leftS = Math.max(0, Math.ceil((targetMs - observedMs) / 1000));
	setText('stage', stage === 'measuring' ? `${leftS} s left` : words);
	element('progress', HTMLProgressElement).value = Math.min(1, observedMs / targetMs);
	fill('advice', items(door?.advice ?? []));
	setText('age', milliseconds(live.ageMeanMs));
	setText('lost', live.settledCount === 0 ? '–' : `${live.lostCount} of ${live.settledCount}`);
	setText('gap', milliseconds(live.longestGapMs));
	setText('watching', String(live.watchingCount));
}

function showAnswer(check: YardCheck, { order }: YardHands): void {
	const { sections, frame, pageUrl, places, isStopped } = check;
	const [answer, ...others] = sections;
	element('frame', HTMLElement).className = `frame ${frame}`;
	const [headline = '', ...because] = answer?.items ?? [];
	fill('frame', [
		make('h1', headline),
		...because.map((words, i) => make('p', words, i === 0 ? 'order' : '')),
	]);
	fill(
		'findings',
		others.flatMap(({ title, items: words }) => [make('h2', title), listOf(words)]),
	);
	element('page', HTMLAnchorElement).href = pageUrl;
	setHidden('goOn', !isStopped);
	buttons(
		'moreList',
		places.flatMap(({ name }, place) =>
			AGAIN.map(([run, words]) => [`${name}: ${words}`, () => order({ kind: 'want', run, place })] as const),
		),
	);
}

function showKit({ run, door }: ConsoleState, { backToKit }: YardCheck, isLost: boolean): void {
	const [quiet = '', ...steps] = backToKit;
	const waiting = isLost || (door !== null && door.waitingCount > 0);
	const silence = `${quiet}${waiting ? ' Close our page on the tablet.' : ''}`;
	setText(
		'silence',
		isLost
			? `The program on this laptop was closed; what was measured is kept. ${silence}`
			: run !== null
				? 'A run is still on: stop it first.'
				: silence,
	);
	setHidden('kitDone', isLost);
	setHidden('readAgain', isLost);
	fill('kitSteps', items(steps));
}

function listOf(words: readonly string[]): HTMLElement {
	const list = make('ul', '');
	list.append(...items(words));
	return list;
}

/** Made anew only when their words changed, so that a press is never lost under a finger. */
function buttons(id: string, rows: readonly (readonly [words: string, action: () => void])[]): void {
	const target = element(id, HTMLElement);
	const looks = JSON.stringify(rows.map(([words]) => words));
	if (target.dataset['looks'] === looks) return;
	target.dataset['looks'] = looks;
	target.replaceChildren(
		...rows.map(([words, action]) => {
			const made = make('button', words);
			made.type = 'button';
			made.onclick = action;
			return made;
		}),
	);
}
