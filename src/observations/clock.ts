/**
 * The viewer's clock put on the reference clock, with a bound on the error of doing so.
 *
 * A ping has four stamps: the bench sends (t1), the viewer gets (t2) and answers (t3), the bench gets (t4). Whatever the
 * two ways took, "reference minus viewer" lay between t1 - t2 and t4 - t3 then: that is a fact, not an estimate (RFC 5905
 * and Cristian, from memory). The line goes through the sample of least round trip; its slope is `clockDrift.ts`'s.
 * No averages, no wall clock.
 *
 * The bound needs one assumption: how fast the true line may leave the fitted one between pings. It holds as long as that
 * does, however bad the fit is, because every kept sample is asked how far the line could be from the truth there.
 * A clock that stood still or jumped breaks the assumption; that is looked for, and then there is no fit.
 */
import {
	doubtOf,
	fitDrift,
	type Line,
	leastOfEach,
	lineAt,
	type Sample,
	UNFITTED_DOUBT_PPM,
} from './clockDrift.ts';
import { type ReferenceMs, referenceMs } from './instant.ts';

/** A straight line from the viewer's clock to the reference clock over one segment, with a bound on its error. */
export type ClockFit = {
	/** reference = viewer + offsetMs + driftPpm * 1e-6 * (viewer - anchorMs) */
	readonly anchorMs: number;
	readonly offsetMs: number;
	readonly driftPpm: number;
	/** Half the least round trip used, the viewer's clock step, and the doubt of the drift at the ends of the segment. */
	readonly boundMs: number;
	readonly leastRoundTripMs: number;
	readonly pingCount: number;
};

/** What `boundAtMs` needs beside the line: how sure it is at each kept ping, and how fast that is lost. */
export type FittedClock = ClockFit & {
	readonly kind: 'fitted';
	readonly doubtPpm: number;
	/** In order of viewer time. */
	readonly knots: readonly { readonly viewerMs: number; readonly boundMs: number }[];
};

export type NoClock = {
	readonly kind: 'notMeasured';
	readonly reason: 'noUsablePing' | 'clockStepUnknown' | 'clockStepped';
	readonly explanation: string;
};

/** [t1, t2, t3, t4]; t2 and t3 on the viewer's clock. */
export type Ping = readonly [number, number, number, number];

/** One sample per window is kept: the one of least round trip. A burst lasts a second or two. */
const WINDOW_MS = 5000;
/** Stamps are kept to a thousandth of a millisecond; two of them may disagree by so much without meaning anything. */
const STAMP_ROUNDING_MS = 0.002;
/** How far the viewer's clock is ahead of the reference, and the round trip without the viewer's own time (RFC 5905). */
export function readPing([t1, t2, t3, t4]: Ping): { aheadMs: number; roundTripMs: number } {
	return { aheadMs: (t2 - t1 + (t3 - t4)) / 2, roundTripMs: t4 - t1 - (t3 - t2) };
}

/**
 * `quantumMs`: step of the viewer's clock; null: taken as the least step its stamps show, which can only be too large.
 * `span`: the segment on the reference clock, over which `boundMs` is the greatest bound; without it, from first ping to last.
 */
export function fitClock(
	pings: readonly Ping[],
	quantumMs: number | null,
	span?: { readonly startMs: number; readonly endMs: number },
): FittedClock | NoClock {
	const stepMs = quantumMs ?? leastStep(pings);
	if (pings.length > 0 && stepMs === null)
		return none(
			'clockStepUnknown',
			'the viewer does not say how fine its clock is, and its stamps do not show it',
		);
	const samples = pings.map((ping) => toSample(ping, stepMs ?? 0)).filter((sample) => sample !== null);
	const best = leastOfEach(samples, (sample) =>
		Math.floor((sample.viewerMs - samples[0]!.viewerMs) / WINDOW_MS),
	);
	if (best.length === 0)
		return none('noUsablePing', 'no ping came back whole, so the two clocks cannot be compared');
	return fitThrough(samples, best, span);
}

/** Where a viewer's instant lies on the reference clock. Throws `RangeError` when it is not finite. */
export function toReferenceMs(fit: ClockFit, viewerMs: number): ReferenceMs {
	return referenceMs(viewerMs + lineAt(fit, viewerMs));
}

/** How far `toReferenceMs` may be off at a viewer's instant: least at a good ping, growing away from it and after the last. */
export function boundAtMs({ knots, doubtPpm }: FittedClock, viewerMs: number): number {
	let bound = Number.POSITIVE_INFINITY;
	for (const knot of knots)
		bound = Math.min(bound, knot.boundMs + doubtPpm * 1e-6 * Math.abs(viewerMs - knot.viewerMs));
	return bound;
}

function toSample(ping: Ping, stepMs: number): Sample | null {
	const { aheadMs, roundTripMs } = readPing(ping);
	const [t1, t2, t3, t4] = ping;
	// An answer before the question, or a trip shorter than nothing: not a ping.
	if (t4 < t1 || t3 < t2 || roundTripMs < -2 * stepMs - STAMP_ROUNDING_MS) return null;
	return {
		viewerMs: (t2 + t3) / 2,
		lowMs: t1 - t2 - stepMs,
		highMs: t4 - t3 + stepMs,
		offsetMs: -aheadMs,
		roundTripMs: Math.max(0, roundTripMs),
	};
}

function leastStep(pings: readonly Ping[]): number | null {
	const stamps = pings.flatMap(([, t2, t3]) => [t2, t3]).sort((a, b) => a - b);
	let least: number | null = null;
	for (let i = 1; i < stamps.length; i++) {
		const step = stamps[i]! - stamps[i - 1]!;
		if (step > 1e-6 && (least === null || step < least)) least = step;
	}
	return least;
}

function fitThrough(
	samples: readonly Sample[],
	best: readonly Sample[],
	span: { readonly startMs: number; readonly endMs: number } | undefined,
): FittedClock | NoClock {
	const anchor = best.reduce((least, sample) => (sample.roundTripMs < least.roundTripMs ? sample : least));
	const { driftPpm, doubtPpm } = fitDrift(samples, anchor);
	const line = { anchorMs: anchor.viewerMs, offsetMs: anchor.offsetMs, driftPpm };
	if (hasStepped(best, line))
		return none('clockStepped', "the pings contradict each other: the viewer's clock stood still or jumped");
	const knots = best.map((sample) => ({ viewerMs: sample.viewerMs, boundMs: doubtOf(sample, line) }));
	const fit = { ...line, leastRoundTripMs: anchor.roundTripMs, pingCount: samples.length, doubtPpm, knots };
	return { kind: 'fitted', ...fit, boundMs: greatestBound(fit, span) };
}

/** True when no clock whose rate stays within the unfitted doubt of the line can satisfy every sample in turn. */
function hasStepped(best: readonly Sample[], line: Line): boolean {
	let low = Number.NEGATIVE_INFINITY;
	let high = Number.POSITIVE_INFINITY;
	let beforeMs = best[0]!.viewerMs;
	for (const sample of best) {
		const mayMove = UNFITTED_DOUBT_PPM * 1e-6 * (sample.viewerMs - beforeMs);
		const at = lineAt(line, sample.viewerMs);
		low = Math.max(low - mayMove, sample.lowMs - at);
		high = Math.min(high + mayMove, sample.highMs - at);
		if (low > high + STAMP_ROUNDING_MS) return true;
		beforeMs = sample.viewerMs;
	}
	return false;
}

type Bounded = Line & Pick<FittedClock, 'knots' | 'doubtPpm'>;

/** Greatest of `boundAtMs` over the span: at its ends, or where the bounds of two neighbouring pings meet. */
function greatestBound(fit: Bounded, span: { startMs: number; endMs: number } | undefined): number {
	const rate = fit.doubtPpm * 1e-6;
	const reach = fit.knots.map((knot) => ({ ...knot }));
	for (let i = 1; i < reach.length; i++) tighten(reach[i]!, reach[i - 1]!, rate);
	for (let i = reach.length - 2; i >= 0; i--) tighten(reach[i]!, reach[i + 1]!, rate);
	let greatest = 0;
	for (const [i, knot] of reach.entries()) {
		const next = reach[i + 1];
		const meet = next && (knot.boundMs + next.boundMs + rate * (next.viewerMs - knot.viewerMs)) / 2;
		greatest = Math.max(greatest, knot.boundMs, meet ?? 0);
	}
	if (span === undefined) return greatest;
	// The span is on the reference clock; drift over it moves the bound by far less than the bound itself.
	const first = reach[0]!;
	const last = reach.at(-1)!;
	const before = first.viewerMs - (span.startMs - fit.offsetMs);
	const after = span.endMs - fit.offsetMs - last.viewerMs;
	return Math.max(
		greatest,
		first.boundMs + rate * Math.max(0, before),
		last.boundMs + rate * Math.max(0, after),
	);
}

function tighten(
	knot: { viewerMs: number; boundMs: number },
	by: { viewerMs: number; boundMs: number },
	rate: number,
): void {
	knot.boundMs = Math.min(knot.boundMs, by.boundMs + rate * Math.abs(knot.viewerMs - by.viewerMs));
}

function none(reason: NoClock['reason'], explanation: string): NoClock {
	return { kind: 'notMeasured', reason, explanation };
}
