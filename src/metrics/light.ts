/**
 * The same card by the scope's own light, bright and dim: how light the picture makes its middle grey, and what is left of detail and of the signal
 * over its noise. A camera in a dark view opens longer, turns its gain up, or slows down; the last is told by pictures a second
 * (againstReference.ts), for a still has none. Which light it was is the person's word: nothing of it is measured.
 */
import type { DetailSample } from '../observations/run.ts';
import { middleOrNull } from './pictureDetails.ts';
import type { Fidelity, SeenByLight } from './pictureMetric.ts';

const LIGHTS = ['bright', 'dim'] as const;

/** Nothing where no light was said. */
export function lightFigures(details: readonly DetailSample[]): Pick<Fidelity, 'byLight'> {
	const byLight = LIGHTS.flatMap((light): SeenByLight[] => {
		const group = details.filter((detail) => detail.light === light);
		if (group.length === 0) return [];
		const greys = group.flatMap(({ noise }) => noise.slice(noise.length >> 1, (noise.length >> 1) + 1));
		return [
			{
				light,
				greyRatio: middleOrNull(greys.map(({ meanRatio }) => meanRatio)),
				mtf50CyPx: middleOrNull(group.flatMap(({ edges }) => edges.map(({ mtf50CyPx }) => mtf50CyPx))),
				signalToNoiseRatio: middleOrNull(greys.map(({ signalToNoiseRatio }) => signalToNoiseRatio)),
				temporalRatio: middleOrNull(greys.map(({ temporalRatio }) => temporalRatio)),
				pictureCount: group.length,
			},
		];
	});
	return byLight.length === 0 ? {} : { byLight };
}
