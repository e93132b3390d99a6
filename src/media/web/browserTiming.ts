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

/** Least step that `performance.now()` takes, in ms; null when no step was seen in `spins` looks. */
export function observeClockQuantumMs(spins = 20_000): number | null {
	let least: number | null = null;
	let last = performance.now();
	for (let i = 0; i < spins; i++) {
		const now = performance.now();
		if (now > last && (least === null || now - last < least)) least = now - last;
		last = now;
	}
	return least;
}
