/**
 * White balance: how far the middle neutral patch, as the viewer got it, is from grey. Middle: of the patches drawn
 * neutral, by luminance; of two middle ones the lighter, which noise and black level disturb less.
 */
import { relativeLuminance } from '../colour/relativeLuminance.ts';
import { whitePointError } from '../colour/whitePointError.ts';
import type { Run } from '../observations/run.ts';
import type { Metric, WhiteBalance } from './metric.ts';
import { gatherPatchMeans } from './patchMeans.ts';

export function measureWhiteBalance(run: Run): Metric<WhiteBalance> {
	const means = gatherPatchMeans(run);
	if (means.kind === 'notMeasured') return means;
	const neutrals = means.references
		.map(({ name, role, rgb }, i) => ({ name, role, expected: relativeLuminance(rgb), seen: means.seen[i]! }))
		.filter(({ role }) => role === 'neutral')
		.sort((a, b) => a.expected - b.expected);
	const middle = neutrals[Math.floor(neutrals.length / 2)];
	if (middle === undefined) {
		return {
			kind: 'notMeasured',
			reason: 'noNeutralPatch',
			explanation: 'The card of this run has no neutral patch.',
		};
	}
	const error = whitePointError(middle.seen);
	if (error === null) {
		return {
			kind: 'notMeasured',
			reason: 'neutralIsBlack',
			explanation: `The middle neutral patch (${middle.name}) came without any green light, so it has no balance.`,
		};
	}
	return { kind: 'measured', ...error, patchName: middle.name };
}
