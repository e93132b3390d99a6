/**
 * Slow variation that a display makes by itself and that says nothing of the link: a picture waits 0 to one refresh period,
 * and where the source's clock and the display's hardly differ that wait drifts through its whole range in minutes. The
 * bounds do not look at variation within this of the median when they judge a limit beyond it (statistics/episodeBound.ts).
 * A decoder does not wait for a display: there it is 0. A display that does not tell its period is taken for 60 Hz.
 */
import type { RunFacts } from './metric.ts';

const ASSUMED_PERIOD_MS = 1000 / 60;

/** For delay: one period of the viewer's display. */
export function displayWaitMs({ header }: RunFacts): number {
	const { viewer } = header.measuringPoints;
	return viewer === 'presented' || viewer === 'light' ? (header.displayPeriodMs ?? ASSUMED_PERIOD_MS) : 0;
}

/** For picture age, which also grows by one source period while a picture stands: half of it lies above the median. */
export function ageWaitMs(facts: RunFacts): number {
	const waitMs = displayWaitMs(facts);
	return waitMs === 0 ? 0 : waitMs + 500 / facts.header.source.rateHz;
}
