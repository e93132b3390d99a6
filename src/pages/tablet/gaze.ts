/**
 * Whether somebody could be looking, by a clock that runs: a page that is hidden or locked draws nothing, a turned tablet
 * draws anew, and a tablet that slept has a clock that stood still. Each ends a stretch of observation.
 */
export type Gaze = {
	/** Looks at the clocks now: before a picture is written down that may have waited through a standstill. */
	check(): void;
	close(): void;
};
export type GazeEvents = {
	readonly away: (code: 'pageHidden' | 'pageTurned' | 'clockStopped' | 'pageFroze') => void;
	readonly back: () => void;
};

/** After a turn: until the page is laid out again. */
const TURNING_MS = 1000;
const LOOK_EVERY_MS = 1000;
/** The two clocks of a page differ by more than this only when one of them stood still or was set. */
const CLOCKS_APART_MS = 400;
/** A timer that comes so much too late on a visible page: everything stood still. */
const FROZEN_MS = 4000;

export function watchGaze({ away, back }: GazeEvents): Gaze {
	let turning = 0;
	let timer = 0;
	let last = { pageMs: performance.now(), wallMs: Date.now() };
	let isWide = window.innerWidth > window.innerHeight;

	const onVisibility = (): void => {
		if (document.hidden) away('pageHidden');
		else back();
	};
	const onResize = (): void => {
		const nowWide = window.innerWidth > window.innerHeight;
		if (nowWide === isWide || document.hidden) return;
		isWide = nowWide;
		away('pageTurned');
		window.clearTimeout(turning);
		turning = window.setTimeout(back, TURNING_MS);
	};
	const onFreeze = (): void => away('pageFroze');
	const check = (): void => {
		const now = { pageMs: performance.now(), wallMs: Date.now() };
		const passedMs = now.pageMs - last.pageMs;
		const apartMs = Math.abs(now.wallMs - last.wallMs - passedMs);
		last = now;
		const code = apartMs > CLOCKS_APART_MS ? 'clockStopped' : passedMs > FROZEN_MS ? 'pageFroze' : null;
		if (code !== null && !document.hidden) {
			away(code);
			back();
		}
	};
	const look = (): void => {
		check();
		timer = window.setTimeout(look, LOOK_EVERY_MS * (0.7 + 0.6 * Math.random()));
	};
	document.addEventListener('visibilitychange', onVisibility);
	window.addEventListener('resize', onResize);
	document.addEventListener('freeze', onFreeze);
	document.addEventListener('resume', onVisibility);
	look();
	return {
		check,
		close() {
			window.clearTimeout(timer);
			window.clearTimeout(turning);
			document.removeEventListener('visibilitychange', onVisibility);
			window.removeEventListener('resize', onResize);
			document.removeEventListener('freeze', onFreeze);
			document.removeEventListener('resume', onVisibility);
		},
	};
}
