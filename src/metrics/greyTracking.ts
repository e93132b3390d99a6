/**
 * Grey tracking over the neutral patches: the least-squares slope of log luminance seen against log luminance drawn (1 = the
 * same tone curve; common practice), the worst C*ab among them, and whether each lighter patch also came lighter.
 * Black has no logarithm: a patch drawn or seen without light is in the other two figures, not in the slope.
 */
import { relativeLuminance } from '../colour/relativeLuminance.ts';
import { srgbToLab65 } from '../colour/srgbToLab65.ts';
import type { Run } from '../observations/run.ts';
import type { GreyTracking, Metric } from './metric.ts';
import { gatherPatchMeans } from './patchMeans.ts';

/** A slope through two points says nothing of a curve. */
const MIN_NEUTRALS = 3;

export function measureGreyTracking(run: Run): Metric<GreyTracking> {
	const means = gatherPatchMeans(run);
	if (means.kind === 'notMeasured') return means;
	const neutrals = means.references
		.map(({ role, rgb }, i) => ({
			role,
			expected: relativeLuminance(rgb),
			seen: relativeLuminance(means.seen[i]!),
			chroma: chromaOf(means.seen[i]!),
		}))
		.filter(({ role }) => role === 'neutral')
		.sort((a, b) => a.expected - b.expected);
	const lit = neutrals.filter(({ expected, seen }) => expected > 0 && seen > 0);
	const toneSlope = slopeOf(lit.map(({ expected, seen }) => [Math.log(expected), Math.log(seen)]));
	if (lit.length < MIN_NEUTRALS || toneSlope === null) {
		return {
			kind: 'notMeasured',
			reason: 'tooFewNeutrals',
			explanation: `Only ${lit.length} neutral patches came with any light; a tone curve needs ${MIN_NEUTRALS} different ones.`,
		};
	}
	return {
		kind: 'measured',
		toneSlope,
		worstChroma: neutrals.reduce((worst, { chroma }) => Math.max(worst, chroma), 0),
		monotonic: neutrals.every(({ seen }, i) => i === 0 || seen > neutrals[i - 1]!.seen),
		neutralCount: neutrals.length,
	};
}

function chromaOf(rgb: readonly [number, number, number]): number {
	const [, a, b] = srgbToLab65(rgb);
	return Math.hypot(a, b);
}

/** Null when all points stand above one another. */
function slopeOf(points: readonly (readonly [number, number])[]): number | null {
	const meanX = points.reduce((sum, [x]) => sum + x, 0) / points.length;
	const meanY = points.reduce((sum, [, y]) => sum + y, 0) / points.length;
	const across = points.reduce((sum, [x]) => sum + (x - meanX) ** 2, 0);
	const together = points.reduce((sum, [x, y]) => sum + (x - meanX) * (y - meanY), 0);
	return across > 0 ? together / across : null;
}
