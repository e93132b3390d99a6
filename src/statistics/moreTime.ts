/**
 * How much longer a run like this one would have to be until its bound settles a line (estimators.md B3): the exact
 * real-valued binomial size at which a share e that stays as it is would be bounded by the allowed share, times the time that one
 * independent reading takes. A forecast that supposes the same luck: about two in three come true (`bench/forecast.ts`), so print "about".
 */
import { betaQuantile } from './beta.ts';
import { clusterUpper } from './clusterBound.ts';

const DEFAULT_CONFIDENCE = 0.95;
/** Shares so close to the allowed one that they need more than this will not settle by running longer. */
const MOST_READINGS = 2000;
const ROUND_UP_MS = 30_000;
const MOST_MS = 1_200_000;

/**
 * Smallest whole number of independent readings with which a share under the allowed one is bounded above by it, or a
 * share over it bounded below; null when longer will not settle it. `clusterCount`: how many independent readings the largest cluster is as long as; it
 * stays what it is while the run grows.
 */
export function effectiveCountRequired(
	shareRatio: number,
	allowedRatio: number,
	{ confidence = DEFAULT_CONFIDENCE, clusterCount = 0 }: { confidence?: number; clusterCount?: number } = {},
): number | null {
	if (!(shareRatio >= 0 && shareRatio <= 1))
		throw new RangeError(`a share must lie in [0, 1], got ${shareRatio}`);
	if (!(allowedRatio > 0 && allowedRatio < 1))
		throw new RangeError(`an allowed share must lie between 0 and 1, got ${allowedRatio}`);
	if (shareRatio === allowedRatio) return null;
	const settles = (n: number): boolean => {
		const k = shareRatio * n;
		return shareRatio < allowedRatio
			? clusterUpper({ shareRatio, count: n, clusterRatio: clusterCount / n }, confidence) <= allowedRatio
			: betaQuantile(1 - confidence, k, n - k + 1) >= allowedRatio;
	};
	if (!settles(MOST_READINGS)) return null;
	let no = 0;
	let yes = MOST_READINGS;
	while (yes - no > 1) {
		const middle = Math.floor((no + yes) / 2);
		if (settles(middle)) yes = middle;
		else no = middle;
	}
	return yes;
}

/**
 * About how much more observed time would settle it, rounded up to half minutes; 20 min stands for "20 min or more",
 * null for "will not settle by running longer".
 */
export function moreTimeMs(reading: {
	readonly shareRatio: number;
	readonly allowedRatio: number;
	readonly effectiveCount: number;
	readonly clusterRatio: number;
	readonly observedMs: number;
}): number | null {
	const { shareRatio, allowedRatio, effectiveCount, clusterRatio, observedMs } = reading;
	if (!(effectiveCount > 0)) return null;
	const required = effectiveCountRequired(shareRatio, allowedRatio, {
		clusterCount: clusterRatio * effectiveCount,
	});
	if (required === null) return null;
	const moreMs = Math.max(0, (required / effectiveCount) * observedMs - observedMs);
	return Math.min(MOST_MS, Math.ceil(moreMs / ROUND_UP_MS) * ROUND_UP_MS);
}
