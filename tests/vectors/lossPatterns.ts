/** Loss patterns with known answers; 1 came, 0 lost, X came too late. */

/**
 * RFC 3611 section 4.7.2, smallest gap 16, 10 ms a packet (from memory; one trailing 1 restored so that its own "64 packets" and
 * "290 ms" hold, as a published code comment does).
 */
export const burstExample = {
	pattern: '11110111111111111111111X111X1011110111111111111111111X1111111111',
	gapMin: 16,
	burst: { first: 23, last: 34, lost: 4 },
	burstDensityRatio: 4 / 12,
	gapPackets: 52,
	gapDensityRatio: 2 / 52,
};

/** Published in a comment of a public program, smallest gap 2. */
export const secondBurstExample = {
	pattern: '111011100011X',
	gapMin: 2,
	burst: { first: 7, last: 9, lost: 3 },
	burstDensityRatio: 1,
	gapPackets: 10,
	gapDensityRatio: 0.2,
};

/** RFC 3357's sequence (from memory), 1 lost; noticeable rates computed from the definition. */
export const distanceExample = {
	lost: [0, 1, 0, 0, 1, 0, 1, 0, 1, 1],
	distances: [0, 3, 2, 2, 1],
	periods: [1, 2, 3, 4, 4],
	noticeable: [
		[1, 0.2],
		[2, 0.6],
		[3, 0.8],
	],
} as const;

/** Simple Gilbert chain, computed from its formulas (standards.md 2.5). */
export const gilbertExample = { p: 0.01, r: 0.25, lossRatio: 0.0384615, meanBurst: 4, meanGap: 100 };
