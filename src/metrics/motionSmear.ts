/**
 * What movement does to an edge: how long the shutter was open, from how much wider the edge's rise is than the same edge at
 * rest. A ghost (an earlier place shining through) widens it too, and is told apart by `earlierRatio` (reading/linkMotion.ts).
 *
 * Source: a shutter open for t spreads an edge of speed v evenly over v t, whose rise from a tenth to nine tenths is 0.8 v t; widths of
 * independent blurs add in squares nearly (computed; within 4 % where both are Gaussian or even).
 */
export type MotionSmear = {
	/** How far the edge is spread by its movement alone. */
	readonly smearPx: number;
	/** Time of that at the stated speed. */
	readonly shutterMs: number;
	/** What is left of the half-contrast frequency at rest; null where either never falls so far. */
	readonly detailKeptRatio: number | null;
};

/** Of a slanted edge: from a tenth to nine tenths, and the half-contrast frequency. */
type EdgeRise = { readonly riseWidthPx: number; readonly mtf50CyPx: number | null };

const RISE_OF_EVEN_SPREAD = 0.8;

/** RangeError for a speed that is not above 0. Both edges are of one kit, one light and one distance. */
export function measureSmear(still: EdgeRise, moving: EdgeRise, speedPxPerMs: number): MotionSmear {
	if (!(speedPxPerMs > 0)) throw new RangeError(`a speed must be above 0 px/ms, got ${speedPxPerMs}`);
	const wider = Math.max(0, moving.riseWidthPx ** 2 - still.riseWidthPx ** 2);
	const smearPx = Math.sqrt(wider) / RISE_OF_EVEN_SPREAD;
	const kept =
		still.mtf50CyPx === null || moving.mtf50CyPx === null ? null : moving.mtf50CyPx / still.mtf50CyPx;
	return { smearPx, shutterMs: smearPx / speedPxPerMs, detailKeptRatio: kept };
}
