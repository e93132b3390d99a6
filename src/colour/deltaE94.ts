/**
 * CIE 1994 colour difference. Not symmetric: the weights are those of the standard's chroma, so the order matters.
 * Source: CIE 116, with the constants as published in the colour-science/colour library.
 */
import type { Lab } from './lab.ts';

export type DeltaE94Application = 'graphics' | 'textiles';

const WEIGHTS = {
	graphics: { lightness: 1, chroma: 0.045, hue: 0.015 },
	textiles: { lightness: 2, chroma: 0.048, hue: 0.014 },
} as const;

export function deltaE94(standard: Lab, sample: Lab, application: DeltaE94Application = 'graphics'): number {
	const weights = WEIGHTS[application];
	const chroma = Math.hypot(standard[1], standard[2]);
	const chromaStep = chroma - Math.hypot(sample[1], sample[2]);
	// Rounding can push the square below zero where only chroma differs.
	const hueStepSquared = Math.max(
		0,
		(standard[1] - sample[1]) ** 2 + (standard[2] - sample[2]) ** 2 - chromaStep ** 2,
	);
	return Math.sqrt(
		((standard[0] - sample[0]) / weights.lightness) ** 2 +
			(chromaStep / (1 + weights.chroma * chroma)) ** 2 +
			hueStepSquared / (1 + weights.hue * chroma) ** 2,
	);
}
