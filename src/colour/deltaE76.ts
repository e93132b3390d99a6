/**
 * CIE 1976 colour difference: plain distance in L*a*b*. Kept beside deltaE00.ts because older limits are written in it;
 * it overrates differences between strong colours. Source: CIE 15.
 */
import type { Lab } from './lab.ts';

export function deltaE76(standard: Lab, sample: Lab): number {
	return Math.hypot(sample[0] - standard[0], sample[1] - standard[1], sample[2] - standard[2]);
}
