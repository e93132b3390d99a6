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
