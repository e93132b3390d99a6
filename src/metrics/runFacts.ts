/**
 * What a run is worth as evidence: how long it was observed, and the systematic errors that every instant in it shares.
 *
 * Observed time runs from the end of warm-up to the end of each segment; segments are added, breaks between them are not.
 * The systematics are one draw for the whole run: true delay = reading + centre + draw. A one-sided term in
 * [0, 2 h] has its middle at h; both shapes have the standard uncertainty h / sqrt 3 (JCGM 100, 4.3.7, from memory).
 */
import type { Run, Segment } from '../observations/run.ts';
import type { RunFacts } from './metric.ts';
import { isFilmed, missingFromSession } from './opticalSession.ts';

export function measureFacts(run: Run): RunFacts {
	let centreMs = 0;
	let variance = 0;
	for (const { shape, halfWidthMs } of run.systematics) {
		if (shape === 'oneSided') centreMs += halfWidthMs;
		variance += halfWidthMs ** 2 / 3;
	}
	return {
		header: run.header,
		observedMs: run.segments.reduce((sum, segment) => sum + observedLengthMs(segment), 0),
		warmUpMs: run.segments.reduce((sum, segment) => sum + warmUpLengthMs(segment), 0),
		segmentCount: run.segments.length,
		torn: run.endedBy === null,
		systematics: run.systematics,
		systematicCentreMs: centreMs,
		systematicStandardMs: Math.sqrt(variance),
		...(isFilmed(run) ? { sessionMissing: missingFromSession(run) } : {}),
	};
}

function observedLengthMs({ warmUpUntilMs, endMs }: Segment): number {
	return Math.max(0, endMs - warmUpUntilMs);
}

function warmUpLengthMs({ startMs, warmUpUntilMs, endMs }: Segment): number {
	return Math.max(0, Math.min(warmUpUntilMs, endMs) - startMs);
}
