/**
 * The colour reading tried on the card itself: drawn, made into planes and read back, with no codec and no air between. What
 * it adds must be under 1 (CIEDE2000) before a fault is looked for in anything else.
 */
import { deltaE00 } from '../colour/deltaE00.ts';
import { srgbToLab65 } from '../colour/srgbToLab65.ts';
import type { Header } from '../observations/records.ts';
import type { CardSpec } from '../pattern/card.ts';
import { createCardPainter } from '../pattern/painter.ts';
import { cardPatches } from '../pattern/patches.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { readPatchColours } from './patchColours.ts';

export function tryColourReading(spec: CardSpec): NonNullable<Header['colourControl']> {
	const seen = readPatchColours(createCardPainter(spec).paintPlanes(0), spec);
	const added = sortSamples(
		cardPatches(spec).map(({ rgb }, i) => deltaE00(srgbToLab65(rgb), srgbToLab65(seen[i]!))),
	);
	return {
		medianDeltaE00: quantileSorted(added, 0.5),
		maxDeltaE00: quantileSorted(added, 1),
		how: 'the card drawn, made into Y, U, V and read back, without a codec',
	};
}
