/** The page's three screens and the few things on them that change. */
type Screen = 'before' | 'during' | 'after';

function element<T extends HTMLElement>(id: string, kind: new () => T): T {
	const found = document.getElementById(id);
	if (!(found instanceof kind)) throw new TypeError(`the page has no ${kind.name} called ${id}`);
	return found;
}

const start = element('start', HTMLButtonElement);
const stop = element('stop', HTMLButtonElement);
/** What the style gives the line under the card before it is laid out. */
const FOOT_LINE_CSS_PX = 88;

/** A dark card before a laptop that is out of reach, and either before what is told every half second. */
const words = { dark: '', away: '', usual: '' };

/** The same line before the tap and under the card. */
function tell(): void {
	for (const id of ['step', 'status'])
		element(id, HTMLElement).textContent = words.dark || words.away || words.usual;
}

export function show(screen: Screen): void {
	for (const id of ['before', 'during', 'after']) element(id, HTMLElement).hidden = id !== screen;
}

export const view = {
	canvas: element('card', HTMLCanvasElement),
	/** What there is to say now; it waits while something keeps the tablet from going on. */
	status(text: string): void {
		words.usual = text;
		tell();
	},
	/** What keeps the tablet from going on, for as long as it does; empty: nothing. */
	hindrance(what: 'dark' | 'away', text: string): void {
		words[what] = text;
		tell();
	},
	/** Before the tap and under the card alike. */
	screenOff(text: string): void {
		for (const id of ['screenOff', 'screenOffNow']) {
			const line = element(id, HTMLElement);
			if (line.textContent !== text) line.textContent = text;
			line.hidden = text === '';
		}
	},
	canStart(may: boolean, text: string): void {
		start.disabled = !may;
		view.status(text);
	},
	onStart(action: () => void): void {
		start.onclick = action;
	},
	onStop(action: () => void): void {
		stop.onclick = action;
	},
	/** The room that the card has on the screen, or will have: the window less the foot line, no wider than allowed. */
	cardBox(): { width: number; height: number } {
		const laidOut = view.canvas.getBoundingClientRect();
		if (laidOut.width > 0) return laidOut;
		const most = Number.parseFloat(view.canvas.style.maxWidth);
		const width = Number.isNaN(most) ? window.innerWidth : Math.min(window.innerWidth, most);
		return { width, height: window.innerHeight - FOOT_LINE_CSS_PX };
	},
	after(title: string, text: string, next: { readonly text: string; readonly action: () => void }): void {
		show('after');
		const button = element('next', HTMLButtonElement);
		button.textContent = next.text;
		button.onclick = next.action;
		element('afterTitle', HTMLElement).textContent = title;
		element('afterText', HTMLElement).textContent = text;
	},
};
