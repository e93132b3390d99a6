/** What the console's pages of the register share: the frame, fields of forms, and the one script that sends a form. */
import { renderPage } from '../report/htmlPage.ts';
import { html, joinHtml, nothing, type SafePiece } from '../report/htmlParts.ts';
import type { Answer } from './route.ts';

export const REGISTER_PATH = '/ask/register' as const;
const SCRIPT_PATH = '/ask/register-forms' as const;

const STYLE = `
nav { display: flex; flex-wrap: wrap; gap: 0 1.2rem; padding: 0.3rem 0; }
nav a, button, select, textarea, input[type=text], input[type=date], input[type=file] { min-height: 48px; font: inherit; }
nav a { display: inline-flex; align-items: center; color: var(--teal); }
form { display: grid; grid-template-columns: repeat(auto-fill, minmax(15rem, 1fr)); gap: 0.6rem 1.2rem; align-items: end; }
form > h3, form > p, form > fieldset, form > .whole { grid-column: 1 / -1; margin: 0.6rem 0 0; }
label { display: grid; min-width: 0; gap: 0.15rem; color: var(--grey); }
label.tick { display: inline-flex; align-items: center; gap: 0.5rem; min-height: 48px; margin-right: 1.2rem; color: var(--ink); }
label.tick input { width: 24px; height: 24px; }
input[type=file] { width: 100%; min-width: 0; }
input::file-selector-button { min-height: 48px; margin-right: 0.6rem; padding: 0 0.9rem; font: inherit; border: 2px solid var(--teal); background: var(--sheet); color: var(--teal); }
textarea, input[type=text], input[type=date], select { width: 100%; box-sizing: border-box; padding: 0 0.5rem; border: 1px solid var(--grey); background: var(--sheet); color: var(--ink); }
fieldset { border: 1px solid var(--rule); }
button { padding: 0 1.2rem; border: 2px solid var(--teal); background: var(--sheet); color: var(--teal); font-weight: 600; }
.said { border: 3px dotted var(--grey); padding: 0.5rem 0.8rem; font-weight: 600; overflow-wrap: anywhere; }
@media print { nav, form { display: none; } }
`;

const PLACES: readonly (readonly [path: string, name: string])[] = [
	['/console/', 'Console'],
	['/films/', 'Films of a closed kit'],
	[REGISTER_PATH, 'Runs and kits'],
	[`${REGISTER_PATH}/kit`, 'Kits and places'],
	[`${REGISTER_PATH}/judge`, 'Judge again'],
	[`${REGISTER_PATH}/here`, 'A kit here'],
	[`${REGISTER_PATH}/hand`, 'Hand'],
	[`${REGISTER_PATH}/compare`, 'Compare'],
	[`${REGISTER_PATH}/sheet`, 'By-hand sheet'],
	[`${REGISTER_PATH}/accept`, 'Accept'],
	[`${REGISTER_PATH}/criteria`, 'Criteria'],
	[`${REGISTER_PATH}/pack`, 'Second opinion'],
];

export function registerPage(title: string, body: readonly SafePiece[]): Answer {
	const links = PLACES.map(([path, name]) => html`<a href="${path}">${name}</a>`);
	const nav = html`<nav aria-label="register">${joinHtml(links)}</nav>`;
	const page = renderPage({
		title,
		masthead: [title],
		body: [nav, ...body],
		script: SCRIPT_PATH,
		style: STYLE,
	});
	return { status: 200, type: 'text/html; charset=utf-8', body: page };
}

/** Sends a form that changes something as JSON, and shows the answer in place of the page. */
export const formScript = {
	path: SCRIPT_PATH,
	text: `async function sent(form, fields, headers) {
	for (const input of form.querySelectorAll('input[type=file]')) {
		const kept = [];
		for (const file of input.files) {
			const path = input.dataset.keep + '?name=' + encodeURIComponent(file.name);
			const answer = await fetch(path, { method: 'PUT', body: file });
			if (!answer.ok) return answer;
			kept.push((await answer.json()).kept);
		}
		fields[input.name] = kept.join('\\n');
	}
	return fetch(form.dataset.post, { method: 'POST', headers, body: JSON.stringify(fields) });
}
document.addEventListener('submit', async (event) => {
	const form = event.target;
	if (form.dataset.post === undefined) return;
	event.preventDefault();
	const fields = Object.fromEntries(new FormData(form, event.submitter));
	const headers = { 'Content-Type': 'application/json' };
	const buttons = [...form.querySelectorAll('button')];
	const busy = (is) => { for (const button of buttons) button.disabled = is; };
	busy(true);
	let answer = { ok: false };
	let text = '';
	try {
		answer = await sent(form, fields, headers);
		text = await answer.text();
	} catch {}
	busy(false);
	const said = document.createElement('p');
	said.className = 'said whole';
	said.setAttribute('role', 'alert');
	if (answer.ok) {
		const next = new DOMParser().parseFromString(text, 'text/html').querySelector('main');
		document.querySelector('main').replaceWith(next);
		window.scrollTo(0, 0);
	} else {
		try { said.textContent = JSON.parse(text).failed; } catch { said.textContent = 'The console did not answer.'; }
		form.querySelector('.said')?.remove();
		form.append(said);
		said.scrollIntoView({ block: 'center' });
	}
});
`,
} as const;

/** A form whose fields are sent as JSON to that route. */
export function postForm(path: string, fields: readonly SafePiece[]): SafePiece {
	return html`<form data-post="${path}">${joinHtml(fields)}</form>`;
}

export function getForm(path: string, fields: readonly SafePiece[]): SafePiece {
	return html`<form method="get" action="${path}">${joinHtml(fields)}</form>`;
}

export function textField(name: string, label: string, value = ''): SafePiece {
	return html`<label>${label}<input type="text" name="${name}" value="${value}"></label>`;
}

export function dayField(name: string, label: string, value = ''): SafePiece {
	return html`<label>${label}<input type="date" name="${name}" value="${value}"></label>`;
}

export function hiddenField(name: string, value: string): SafePiece {
	return html`<input type="hidden" name="${name}" value="${value}">`;
}

export type Choice = readonly [value: string, label: string];

export function choiceField(name: string, label: string, choices: readonly Choice[], value = ''): SafePiece {
	const options = choices.map(([key, words]) =>
		key === value
			? html`<option value="${key}" selected>${words}</option>`
			: html`<option value="${key}">${words}</option>`,
	);
	return html`<label>${label}<select name="${name}">${joinHtml(options)}</select></label>`;
}

export function tickField(name: string, value: string, label: string, ticked = false): SafePiece {
	return ticked
		? html`<label class="tick"><input type="checkbox" name="${name}" value="${value}" checked>${label}</label>`
		: html`<label class="tick"><input type="checkbox" name="${name}" value="${value}">${label}</label>`;
}

export function areaField(name: string, label: string, value = ''): SafePiece {
	// Line by line, for within a line breaks are taken for something a name should not hold.
	const lines = joinHtml(value.split('\n').map((line) => html`${line}`));
	return html`<label>${label}<textarea name="${name}" rows="4">${lines}</textarea></label>`;
}

/** Files chosen in the browser: the form's script sends each to `path`, and the field then holds what that answered, one a line. */
export function filesField(name: string, label: string, path: string): SafePiece {
	return html`<label>${label}<input type="file" name="${name}" data-keep="${path}" multiple></label>`;
}

/** The lines of such a field, without empty ones. */
export function linesOf(text: string): string[] {
	return text
		.split('\n')
		.map((line) => line.trim())
		.filter((line) => line !== '');
}

/** What came of the form that was sent before; nothing where none was. */
export function saidPart(said: string | null): SafePiece {
	return said === null ? nothing : html`<p class="said" role="status">${said}</p>`;
}

export function button(words: string, name = '', value = ''): SafePiece {
	return name === ''
		? html`<button type="submit">${words}</button>`
		: html`<button type="submit" name="${name}" value="${value}">${words}</button>`;
}

/** The fields of a form that was sent: texts by their names, and nothing else. */
export function sentFields(body: unknown): ReadonlyMap<string, string> {
	if (typeof body !== 'object' || body === null) return new Map();
	return new Map(
		Object.entries(body).flatMap(([key, value]) => (typeof value === 'string' ? [[key, value]] : [])),
	);
}
