/**
 * What this browser's clock and display really do, observed and not assumed: the refresh period from the animation
 * clock, the step of `performance.now()` from the differences it shows.
 */

/** A display slower or faster than this is not a display: the page was hidden or the machine too busy to tell. */
const PLAUSIBLE_PERIOD_MS = { least: 3, greatest: 60 };

/** Median spacing of animation frames over about a second, in ms; null when it cannot be told. */
export async function observeDisplayPeriodMs(durationMs = 1000): Promise<number | null> {
	const stamps: number[] = [];
	await new Promise<void>((done) => {
		const tick = (stampMs: number): void => {
			stamps.push(stampMs);
			if (stampMs - (stamps[0] ?? stampMs) < durationMs) requestAnimationFrame(tick);
			else done();
		};
		requestAnimationFrame(tick);
	});
	const spacings = stamps.slice(1).map((stamp, i) => stamp - (stamps[i] ?? stamp));
	const median = spacings.sort((a, b) => a - b)[spacings.length >> 1];
	if (median === undefined) return null;
	return median >= PLAUSIBLE_PERIOD_MS.least && median <= PLAUSIBLE_PERIOD_MS.greatest ? median : null;
}

/** Looks at the clock; the coarsest clock of any browser (100 ms) steps within them. */
const MOST_LOOKS = 20_000_000;
const ENOUGH_STEPS = 40;

/**
 * Least step that `performance.now()` takes, in ms, of forty steps seen one after the other; null when none was seen. A clock
 * of 1 ms steps is told within 40 ms.
 */
export function observeClockQuantumMs(now: () => number = () => performance.now()): number | null {
	let least: number | null = null;
	let last = now();
	for (let look = 0, steps = 0; look < MOST_LOOKS && steps < ENOUGH_STEPS; look++) {
		const nowMs = now();
		if (nowMs === last) continue;
		if (nowMs > last && (least === null || nowMs - last < least)) least = nowMs - last;
		last = nowMs;
		steps++;
	}
	return least;
}
