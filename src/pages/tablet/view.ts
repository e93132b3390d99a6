/** The page's three screens and the few things on them that change. */
type Screen = 'before' | 'during' | 'after';

function element<T extends HTMLElement>(id: string, kind: new () => T): T {
	const found = document.getElementById(id);
	if (!(found instanceof kind)) throw new TypeError(`the page has no ${kind.name} called ${id}`);
	return found;
}

const start = element('start', HTMLButtonElement);
const stop = element('stop', HTMLButtonElement);
const footLine = 90;

export function show(screen: Screen): void {
	for (const id of ['before', 'during', 'after']) element(id, HTMLElement).hidden = id !== screen;
}

export const view = {
	canvas: element('card', HTMLCanvasElement),
	step(text: string): void {
		element('step', HTMLElement).textContent = text;
	},
	status(text: string): void {
		element('status', HTMLElement).textContent = text;
		if (!element('before', HTMLElement).hidden) view.step(text);
	},
	canStart(may: boolean, text: string): void {
		start.disabled = !may;
		view.step(text);
		element('status', HTMLElement).textContent = text;
	},
	onStart(action: () => void): void {
		start.onclick = action;
	},
	onStop(action: () => void): void {
		stop.onclick = action;
	},
	/** Height of the line under the card, in CSS pixels; while it is not yet laid out, what the style gives it. */
	footHeightCssPx(): number {
		return stop.offsetHeight > 0 ? (stop.parentElement?.offsetHeight ?? footLine) : footLine;
	},
	after(title: string, text: string): void {
		show('after');
		element('afterTitle', HTMLElement).textContent = title;
		element('afterText', HTMLElement).textContent = text;
	},
};
