/**
 * The card page: measures the screen's refresh, tells how to set up, and shows the optical card in millimetres, within the flash rule.
 * It needs no bench behind it. `?session=N` gives the label's session; else one is drawn, so that clips of two sessions are told apart.
 */
import type { CardSpec } from '../../pattern/card.ts';
import { cardFlashAreas, greatestSafeCssWidth } from '../../pattern/cardFlashes.ts';
import { judgeFlashes } from '../../pattern/flashRule.ts';
import { markerPlaces } from '../../pattern/markerCard.ts';
import { rateClassHz, SESSIONS } from '../../pattern/markerCode.ts';
import { type AwakeScreen, keepAwake } from '../tablet/screenAwake.ts';
import { type Measured, measureRefresh, type RunningCard, runCard } from './cardScreen.ts';
import { tipDistanceMm } from './distances.ts';

const FIELDS_OF_VIEW_DEG = [90, 100, 120, 140];
/** CSS pixels a millimetre by the standard's 96 an inch; a ruler says what they are on this screen. */
const NOMINAL_CSS_PX_PER_MM = 96 / 25.4;
const USUAL_MARKER_MM = 31;
/** Between the two halves of the card: what a sleeve takes on one side. */
const USUAL_APART_MM = 40;

function element<T extends HTMLElement>(id: string, kind: new () => T): T {
	const found = document.getElementById(id);
	if (!(found instanceof kind)) throw new TypeError(`the page has no ${kind.name} called ${id}`);
	return found;
}

const halves = { left: element('card', HTMLCanvasElement), right: element('free', HTMLCanvasElement) };
const both = element('both', HTMLDivElement);
const size = element('size', HTMLInputElement);
const apart = element('apart', HTMLInputElement);
const scale = element('scale', HTMLInputElement);
const turned = element('turned', HTMLSelectElement);
const mirrored = element('mirrored', HTMLInputElement);
const start = element('start', HTMLButtonElement);

let measured: Measured | null = null;
let running: RunningCard | null = null;
let telling = 0;
let awake: AwakeScreen | null = null;

const session = sessionOf(new URLSearchParams(location.search).get('session'));
size.value = `${USUAL_MARKER_MM}`;
scale.value = kept('scale') ?? '1';
apart.value = kept('apart') ?? `${USUAL_APART_MM}`;
tellDistances();
start.onclick = showCard;
element('again', HTMLButtonElement).onclick = () => void measure();
element('stop', HTMLButtonElement).onclick = () => stopCard('Stopped.');
for (const control of [size, apart, scale, turned, mirrored]) control.addEventListener('input', layOut);
window.addEventListener('resize', layOut);
window.addEventListener('keydown', ({ key }) => {
	if (key === 'Escape') stopCard('Stopped.');
});
// A hidden page draws nothing: what stands on the screen then is no card any more.
document.addEventListener('visibilitychange', () => {
	if (document.hidden) stopCard('Stopped: the page was covered.');
});
void measure();

async function measure(): Promise<void> {
	tell('Measuring this screen’s refresh…');
	start.disabled = true;
	try {
		measured = await measureRefresh();
		const { rateHz } = measured;
		const said = `This screen refreshes ${rateHz.toFixed(2)} times a second`;
		if (rateClassHz(rateHz) === null)
			throw new RangeError(
				`${said}, which the card cannot name. Set it to 50, 60, 75, 90, 100, 120 or 144 Hz in the display settings, and measure again.`,
			);
		tell(`${said}.`);
		start.disabled = false;
	} catch (failure) {
		if (!(failure instanceof RangeError)) throw failure;
		measured = null;
		tell(failure.message, true);
	}
}

function specNow(rateHz: number): CardSpec {
	return { layout: 'scope', size: '1280x720', seed: session, difficulty: 'easy', displayHz: rateHz };
}

function showCard(): void {
	if (measured === null) return;
	const { rateHz } = measured;
	show('during');
	layOut();
	running = runCard(halves, { spec: specNow(rateHz), rateHz }, () => {
		stopCard('Stopped: the screen’s refresh changed while the card was shown. Measure again.');
		start.disabled = true;
	});
	telling = window.setInterval(tellSeen, 500);
	void holdAwake();
}

/** The long film takes longer than many screens stay on by themselves. */
async function holdAwake(): Promise<void> {
	const held = await keepAwake();
	if (running === null) held.release();
	else awake = held;
}

function stopCard(why: string): void {
	if (running === null) return;
	running.stop();
	running = null;
	awake?.release();
	awake = null;
	window.clearInterval(telling);
	show('before');
	tell(why);
}

/** Lays the card out in millimetres, never larger than the flash rule allows; hidden where it would be. */
function layOut(): void {
	if (measured === null) return;
	const { rateHz } = measured;
	const spec = specNow(rateHz);
	const cssPxPerMm = NOMINAL_CSS_PX_PER_MM * Number(scale.value);
	const [scopeCopy] = markerPlaces(spec);
	const widthCssPx = (Number(size.value) * cssPxPerMm * 1280) / scopeCopy!.rect.widthPx;
	const safe = greatestSafeCssWidth(spec, rateHz);
	const shownCssPx = Math.min(widthCssPx, safe);
	const judged = judgeFlashes(cardFlashAreas(spec, shownCssPx, rateHz));
	const flip = mirrored.checked ? ' scaleX(-1)' : '';
	for (const canvas of [halves.left, halves.right]) {
		canvas.style.width = `${shownCssPx / 2}px`;
		// Each about its own marker's middle: both stay at one height, so that the screen refreshes them together.
		canvas.style.transform = `rotate(${turned.value}deg)${flip}`;
	}
	both.style.gap = `${Number(apart.value) * cssPxPerMm}px`;
	both.style.visibility = judged.pass ? 'visible' : 'hidden';
	const shownMm = (shownCssPx * scopeCopy!.rect.widthPx) / 1280 / cssPxPerMm;
	element('sizeText', HTMLOutputElement).value = `${shownMm.toFixed(0)} mm`;
	element('scaleText', HTMLOutputElement).value = `× ${Number(scale.value).toFixed(2)}`;
	element('ruler', HTMLDivElement).style.width = `${50 * cssPxPerMm}px`;
	const warning = element('tooLarge', HTMLParagraphElement);
	const why = judged.pass ? offScreen(spec, shownCssPx / 1280) : judged.why;
	warning.hidden = why === null;
	warning.textContent = why ?? '';
	element('apartText', HTMLOutputElement).value = `${apart.value} mm`;
	keep('scale', scale.value);
	keep('apart', apart.value);
	tellDistances();
}

/** Why the phone or the scope cannot see a whole marker, where one runs off the screen; null where both are on it. */
function offScreen(spec: CardSpec, cssPxPerCardPx: number): string | null {
	const stage = element('stage', HTMLDivElement);
	// Quarter turns are about a marker's own middle, and move it nowhere.
	const isOn = [halves.left, halves.right].every((canvas, half) => {
		const { xPx, yPx, widthPx } = markerPlaces(spec)[half]!.rect;
		const left = canvas.offsetLeft + (xPx - 640 * half) * cssPxPerCardPx;
		const top = canvas.offsetTop + yPx * cssPxPerCardPx;
		const side = widthPx * cssPxPerCardPx;
		return left >= 0 && left + side <= stage.clientWidth && top >= 0 && top + side <= stage.clientHeight;
	});
	return isOn
		? null
		: 'A marker runs off this screen. Make the window larger, or lower “marker” or “apart” till both are whole.';
}

function tellSeen(): void {
	if (running === null) return;
	const { refreshes, missed, rateHz } = running.seen();
	const share = refreshes > 0 ? ((100 * missed) / refreshes).toFixed(missed > 0 ? 1 : 0) : '0';
	element('seen', HTMLParagraphElement).textContent =
		`${rateHz.toFixed(2)} refreshes a second, ${missed} missed (${share} %); session ${session}. A missed one skips a tick and harms no reading.${awake?.isKept === true ? '' : ' See to it by its settings that this screen stays on for six minutes.'}`;
}

function tellDistances(): void {
	const rows = FIELDS_OF_VIEW_DEG.map((degrees) => {
		const row = document.createElement('tr');
		const cells = [`${degrees}°`, `${tipDistanceMm(Number(size.value), degrees).toFixed(0)} mm`];
		for (const text of cells) row.appendChild(document.createElement('td')).textContent = text;
		return row;
	});
	element('distances', HTMLTableSectionElement).replaceChildren(...rows);
}

function show(screen: 'before' | 'during'): void {
	for (const id of ['before', 'during']) element(id, HTMLElement).hidden = id !== screen;
}

function tell(text: string, refused = false): void {
	const state = element('state', HTMLParagraphElement);
	state.textContent = text;
	state.classList.toggle('refused', refused);
}

function sessionOf(word: string | null): number {
	const asked = Number(word);
	const known = word !== null && Number.isInteger(asked) && asked >= 0 && asked < SESSIONS;
	return known ? asked : Math.floor(Math.random() * SESSIONS);
}

/** A page opened from a file may have no store. */
function kept(name: string): string | null {
	try {
		return localStorage.getItem(`steerworthy.card.${name}`);
	} catch {
		return null;
	}
}

function keep(name: string, value: string): void {
	try {
		localStorage.setItem(`steerworthy.card.${name}`, value);
	} catch {
		// Without a store the ruler is asked for anew each time.
	}
}
