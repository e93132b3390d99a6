/**
 * Where a page may not keep the screen on: which setting to change, and whether it is changed. A page cannot read that setting; it
 * can watch. How long the screen has stayed on without a touch is what is known of it, and if it goes dark, after how long.
 */
import { canKeepAwake } from './screenAwake.ts';

const SETTING = 'set the tablet’s screen-off time (in its settings, under display) to longer than the run.';
/** A dark screen after less was a hand at the tablet. */
const HAND_WITHIN_MS = 3000;
const LOOK_EVERY_MS = 5000;

export class ScreenOff {
	#untouchedSinceMs: number;
	#longestMs = 0;
	#wentDarkAfterMs: number | null = null;
	#isDark = false;

	constructor(nowMs: number) {
		this.#untouchedSinceMs = nowMs;
	}

	touched(nowMs: number): void {
		this.#stayed(nowMs);
		this.#untouchedSinceMs = nowMs;
	}

	/** Dark, locked, or another page in front: a page is told no more than that. */
	dark(nowMs: number): void {
		this.#stayed(nowMs);
		const afterMs = nowMs - this.#untouchedSinceMs;
		if (afterMs > HAND_WITHIN_MS) this.#wentDarkAfterMs = afterMs;
		this.#isDark = true;
	}

	back(nowMs: number): void {
		this.#isDark = false;
		this.#untouchedSinceMs = nowMs;
	}

	words(nowMs: number): string {
		this.#stayed(nowMs);
		const went = this.#wentDarkAfterMs;
		if (went !== null && went >= this.#longestMs)
			return `The screen went dark, or this page was left, after ${seconds(went)} without a touch. If nobody did that: ${SETTING}`;
		return `This page cannot keep the screen on: ${SETTING} Without a touch it has stayed on for ${seconds(this.#longestMs)} so far.`;
	}

	#stayed(nowMs: number): void {
		if (!this.#isDark) this.#longestMs = Math.max(this.#longestMs, nowMs - this.#untouchedSinceMs);
	}
}

function seconds(ms: number): string {
	const whole = Math.floor(ms / 1000);
	return whole < 120 ? `${whole} s` : `${Math.floor(whole / 60)} min ${whole % 60} s`;
}

/** Watches this page; `onWords` when they change. Nothing is said while the browser keeps the screen on. */
export function watchScreenOff(onWords: (words: string) => void): { notKept(): void } {
	const nowMs = (): number => performance.now();
	const screen = new ScreenOff(nowMs());
	let isNeeded = !canKeepAwake();
	const tell = (): void => {
		if (isNeeded) onWords(screen.words(nowMs()));
	};
	for (const kind of ['pointerdown', 'keydown', 'touchstart'] as const)
		document.addEventListener(kind, () => screen.touched(nowMs()), { passive: true });
	document.addEventListener('visibilitychange', () => {
		if (document.hidden) screen.dark(nowMs());
		else screen.back(nowMs());
		tell();
	});
	setInterval(tell, LOOK_EVERY_MS);
	tell();
	return {
		notKept() {
			isNeeded = true;
			tell();
		},
	};
}
