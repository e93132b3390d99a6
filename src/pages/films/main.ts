/**
 * Films dropped on the laptop's page: handed to the console as they are, one after the other, and judged there by the command that a person would
 * type. Nothing is decoded here, so that every kind of file is read that the command line reads.
 */
import { type FilmOrder, readFilmState } from '../../protocol/films.ts';
import { element, fill, items, make, setHidden, setText, terms } from '../console/elements.ts';

const ASK = '/ask/films';
const LOOK_EVERY_MS = 1000;
const MEGABYTE = 1e6;
const NO_ANSWER =
	'The console does not answer. Start it again (npm start), load this page anew and choose the films again.';

type Film = {
	readonly file: File;
	readonly row: HTMLLIElement;
	readonly what: HTMLSelectElement;
	readonly state: HTMLElement;
	/** The console's name for it; null while it is on its way. */
	kept: string | null;
};

const films: Film[] = [];
const choose = element('choose', HTMLInputElement);
const drop = element('drop', HTMLLabelElement);
let sending = Promise.resolve();

choose.onchange = () => take(choose.files);
for (const kind of ['dragenter', 'dragover'] as const)
	document.addEventListener(kind, (event) => {
		event.preventDefault();
		drop.classList.add('over');
	});
for (const kind of ['dragleave', 'drop'] as const)
	document.addEventListener(kind, () => drop.classList.remove('over'));
document.addEventListener('drop', (event) => {
	event.preventDefault();
	take(event.dataTransfer?.files ?? null);
});
element('films', HTMLFormElement).onsubmit = (event) => {
	event.preventDefault();
	void judge();
};
element('stop', HTMLButtonElement).onclick = () => void fetch(`${ASK}/stop`, { method: 'POST', body: '{}' });
void look();

function take(files: FileList | null): void {
	for (const file of files ?? []) {
		const film = addFilm(file);
		sending = sending.then(() => hand(film));
	}
	choose.value = '';
	mayJudge();
}

function addFilm(file: File): Film {
	const row = make('li', '');
	const what = document.createElement('select');
	what.setAttribute('aria-label', `what ${file.name} shows`);
	for (const [value, words] of [
		['screens', 'both screens, by the phone'],
		['own', 'the kit’s own recording of the card'],
	] as const) {
		const option = make('option', words);
		option.value = value;
		what.append(option);
	}
	const away = make('button', 'Leave out', 'quiet');
	away.type = 'button';
	const state = make('span', 'waiting', 'small');
	row.append(make('strong', file.name), what, away, state);
	const film: Film = { file, row, what, state, kept: null };
	away.onclick = () => {
		films.splice(films.indexOf(film), 1);
		row.remove();
		mayJudge();
	};
	films.push(film);
	element('list', HTMLUListElement).append(row);
	return film;
}

/** One file after the other: two at once would only share the disk. */
async function hand(film: Film): Promise<void> {
	if (!films.includes(film)) return;
	const { file, state } = film;
	state.textContent = `being handed over, ${Math.ceil(file.size / MEGABYTE)} MB`;
	try {
		const answer = await fetch(`${ASK}/file?name=${encodeURIComponent(file.name)}`, {
			method: 'PUT',
			body: file,
		});
		const said: unknown = await answer.json();
		film.kept = textOf(said, 'kept');
		state.textContent =
			film.kept === null ? (textOf(said, 'failed') ?? 'It did not come whole.') : 'handed over';
	} catch {
		state.textContent =
			'It could not be handed over: is the console still open? Leave it out and choose it again, or give it to “steerworthy optical” on the command line.';
	}
	mayJudge();
}

function mayJudge(): void {
	element('judge', HTMLButtonElement).disabled =
		films.length === 0 || films.some(({ kept }) => kept === null);
}

async function judge(): Promise<void> {
	const keptOf = (kind: string) =>
		films.flatMap(({ kept, what }) => (kept !== null && what.value === kind ? [kept] : []));
	const [recording = null, ...others] = keptOf('own');
	if (others.length > 0)
		return setText('state', 'One recording of the kit’s own is enough: leave the others out.');
	const order: FilmOrder = {
		...{ films: keptOf('screens'), recording },
		kit: element('kit', HTMLInputElement).value.trim(),
		place: element('place', HTMLInputElement).value.trim(),
		turnedAsMeant: element('turned', HTMLInputElement).checked,
	};
	const answer = await fetch(`${ASK}/judge`, { method: 'POST', body: JSON.stringify(order) }).catch(
		() => null,
	);
	if (answer === null || answer.ok) await look();
	else setText('state', textOf(await answer.json(), 'failed') ?? NO_ANSWER);
}

/** Asks how far it has come, again and again while films are read. */
async function look(): Promise<void> {
	const answer = await fetch(ASK).catch(() => null);
	const state = answer === null ? null : readFilmState(await answer.json().catch(() => null));
	const reading = state?.stage === 'reading';
	setHidden('stop', !reading);
	if (reading) element('judge', HTMLButtonElement).disabled = true;
	else mayJudge();
	if (state === null) return setText('state', NO_ANSWER);
	if (state.stage === 'idle') return;
	if (state.stage === 'done') {
		setText('state', '');
		show(state.result);
		forget();
		return;
	}
	setText('state', state.words);
	if (reading) setTimeout(() => void look(), LOOK_EVERY_MS);
}

type Result = Extract<NonNullable<ReturnType<typeof readFilmState>>, { stage: 'done' }>['result'];

function show(result: Result): void {
	element('frame', HTMLElement).className = `frame ${result.fitness}`;
	setText('headline', result.headline.charAt(0).toUpperCase() + result.headline.slice(1));
	setText('order', result.order);
	fill(
		'answers',
		terms([
			['judged', result.subject],
			['these films', result.speaksFor],
		]),
	);
	fill('figures', terms(result.figures));
	fill('warnings', items(result.warnings));
	// Where there is no answer yet, what was left out and why is what is looked for first.
	element('more', HTMLDetailsElement).open = result.fitness === 'undetermined';
	element('report', HTMLAnchorElement).href = result.reportUrl;
	setHidden('result', false);
	element('result', HTMLElement).scrollIntoView();
}

/** The console has let the files go. */
function forget(): void {
	for (const { row } of films) row.remove();
	films.length = 0;
	mayJudge();
}

function textOf(said: unknown, key: 'kept' | 'failed'): string | null {
	if (typeof said !== 'object' || said === null || !(key in said)) return null;
	const value = Reflect.get(said, key);
	return typeof value === 'string' ? value : null;
}
