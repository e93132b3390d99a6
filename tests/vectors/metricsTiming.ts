/** Worked figures of the timing metrics, all in ms, each with where it comes from. */

/**
 * RFC 3550 6.4.1 and A.8 in the floating form; the update rule is published in the RFC and, alike, in several code comments;
 * the figures were computed from it by hand for this project.
 */
export const jitterExample = {
	timestampsMs: [0, 33, 67, 100, 133, 167],
	arrivalsMs: [100, 133, 187, 205, 233, 300],
	jitterMs: [0, 0, 1.25, 2.109375, 2.290039, 4.209412],
};

/** The same packets: IPDV of RFC 3393 (signed) and PDV of RFC 5481, computed from the definitions. */
export const variationExample = { ipdvMs: [0, 20, -15, -5, 33], pdvMs: [0, 0, 20, 5, 0, 33] };

/** One spike of 40 ms in a constant stream: the jitter after the spike comes and after it goes (computed). */
export const jitterSpike = { spikeMs: 40, jitterMs: [2.5, 4.84375] };

/**
 * Freeze limit of a steady rate by webrtc-stats: max(3 avg, avg + 150 ms), computed from the published definition.
 * The factor of three wins only under 13.33/s.
 */
export const steadyFreezeLimits = [
	{ rateHz: 60, limitMs: 166.67 },
	{ rateHz: 50, limitMs: 170 },
	{ rateHz: 30, limitMs: 183.33 },
	{ rateHz: 25, limitMs: 190 },
	{ rateHz: 24, limitMs: 191.67 },
	{ rateHz: 20, limitMs: 200 },
	{ rateHz: 15, limitMs: 216.67 },
	{ rateHz: 10, limitMs: 300 },
];

/**
 * The four cases of libwebrtc's freeze tests (published), where the average takes in the interval judged, in whole ms:
 * 150 ms frames, 483 freezes and 482 does not; 30 ms frames, 185 and 184. With the average of the intervals *before*
 * the one judged the limits are 450 and 180 (computed), so all four freeze, and the cases move to those limits.
 */
export const libwebrtcFreezes = [
	{ usualMs: 150, intervalMs: 483 },
	{ usualMs: 150, intervalMs: 482 },
	{ usualMs: 30, intervalMs: 185 },
	{ usualMs: 30, intervalMs: 184 },
];
export const freezesWithoutCurrent = [
	{ usualMs: 150, limitMs: 450 },
	{ usualMs: 30, limitMs: 180 },
];
