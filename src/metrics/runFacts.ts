/**
 * What a run is worth as evidence: how long it was observed, and the systematic errors that every instant in it shares.
 *
 * Observed time runs from the end of warm-up to the end of each segment; segments are added, breaks between them are not.
 * The systematics are one draw for the whole run: true delay = reading + centre + draw. A one-sided term in
 * [0, 2 h] has its middle at h; both shapes have the standard uncertainty h / sqrt 3 (JCGM 100, 4.3.7, from memory).
 */
import type { FAST_FILMS, ORDINARY_FILMS, Systematic } from '../observations/records.ts';
import type { Run, Segment } from '../observations/run.ts';
import type { RunFacts } from './metric.ts';
import { isFilmed, missingFromSession } from './opticalSession.ts';

export function measureFacts(run: Run): RunFacts {
	return {
		header: run.header,
		observedMs: run.segments.reduce((sum, segment) => sum + observedLengthMs(segment), 0),
		warmUpMs: run.segments.reduce((sum, segment) => sum + warmUpLengthMs(segment), 0),
		segmentCount: run.segments.length,
		torn: run.endedBy === null,
		...sumOf(run.systematics),
		...(isFilmed(run) ? { sessionMissing: missingFromSession(run) } : {}),
	};
}

/** The same run with the systematics that bear on one kind of film only, where any of them say so. */
export function factsForFilms(facts: RunFacts, films: typeof FAST_FILMS | typeof ORDINARY_FILMS): RunFacts {
	const only = facts.systematics.filter(({ name }) => name.endsWith(films));
	return only.length === 0 ? facts : { ...facts, ...sumOf(only) };
}

function sumOf(systematics: readonly Systematic[]) {
	let centreMs = 0;
	let variance = 0;
	for (const { shape, halfWidthMs } of systematics) {
		if (shape === 'oneSided') centreMs += halfWidthMs;
		variance += halfWidthMs ** 2 / 3;
	}
	return { systematics, systematicCentreMs: centreMs, systematicStandardMs: Math.sqrt(variance) };
}

function observedLengthMs({ warmUpUntilMs, endMs }: Segment): number {
	return Math.max(0, endMs - warmUpUntilMs);
}

function warmUpLengthMs({ startMs, warmUpUntilMs, endMs }: Segment): number {
	return Math.max(0, Math.min(warmUpUntilMs, endMs) - startMs);
}
