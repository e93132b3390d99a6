/** Whether somebody could be looking, with the page's clocks, window and document played by hand. */
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { type Gaze, watchGaze } from '../../src/pages/tablet/gaze.ts';

let told: string[] = [];
let nowMs = 0;
let asleepMs = 0;
let gaze: Gaze;
const view = Object.assign(new EventTarget(), {
	innerWidth: 1200,
	innerHeight: 800,
	setTimeout: (action: () => void, ms: number) => setTimeout(action, ms),
	clearTimeout: (timer: NodeJS.Timeout) => clearTimeout(timer),
});
const page = Object.assign(new EventTarget(), { hidden: false });

/** Time in which the page's timers run. */
function pass(ms: number): void {
	nowMs += ms;
	vi.advanceTimersByTime(ms);
}

beforeEach(() => {
	[told, nowMs, asleepMs] = [[], 1000, 0];
	page.hidden = false;
	Object.assign(view, { innerWidth: 1200, innerHeight: 800 });
	vi.useFakeTimers();
	vi.stubGlobal('window', view);
	vi.stubGlobal('document', page);
	vi.stubGlobal('performance', { now: () => nowMs });
	vi.spyOn(Date, 'now').mockImplementation(() => 1e12 + nowMs + asleepMs);
	gaze = watchGaze({ away: (code) => told.push(code), back: () => told.push('back') });
});
afterEach(() => {
	gaze.close();
	vi.useRealTimers();
	vi.restoreAllMocks();
	vi.unstubAllGlobals();
});

function hide(hidden: boolean): void {
	page.hidden = hidden;
	page.dispatchEvent(new Event('visibilitychange'));
}

test('an hour of looking is one stretch', () => {
	for (let i = 0; i < 3600; i++) pass(1000);
	expect(told).toEqual([]);
});

test('hidden is away until it is in front again', () => {
	hide(true);
	pass(60_000);
	expect(told).toEqual(['pageHidden']);
	hide(false);
	expect(told).toEqual(['pageHidden', 'back']);
});

test('turned is away until it is laid out again; a window that only grows is not', () => {
	view.innerWidth = 1300;
	view.dispatchEvent(new Event('resize'));
	expect(told).toEqual([]);
	Object.assign(view, { innerWidth: 800, innerHeight: 1200 });
	view.dispatchEvent(new Event('resize'));
	expect(told).toEqual(['pageTurned']);
	pass(1100);
	expect(told).toEqual(['pageTurned', 'back']);
});

test('a page whose clock stood still is away and back, at the first picture after it if that comes before the timer', () => {
	pass(500);
	asleepMs = 30_000;
	gaze.check();
	expect(told).toEqual(['clockStopped', 'back']);
	gaze.check();
	for (let i = 0; i < 5; i++) pass(1000);
	expect(told).toEqual(['clockStopped', 'back']);
});

test('a page that stood still with its clock running is away and back; while hidden that is no news', () => {
	nowMs += 4500;
	gaze.check();
	expect(told).toEqual(['pageFroze', 'back']);
	hide(true);
	nowMs += 60_000;
	gaze.check();
	expect(told.slice(2)).toEqual(['pageHidden']);
});

test('a page that the browser freezes says so before, and looks again when it is thawed', () => {
	page.dispatchEvent(new Event('freeze'));
	expect(told).toEqual(['pageFroze']);
	page.dispatchEvent(new Event('resume'));
	expect(told).toEqual(['pageFroze', 'back']);
});
