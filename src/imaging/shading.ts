/**
 * Shading: how light falls off from the middle of the view to its rim, in linear light, from places that are equally light
 * in truth. A surface of second order through them gives the level in the middle and along the rim; the figure is a ratio of
 * light, so the exposure does not matter.
 *
 * Source: corner over centre in linear light, common practice; the cosine law's figures are the test's (computed). A scope's own
 * lamp sits at its tip, so distance and tilt of the card are in it as well: compare only at one distance and square on.
 */
import { leastSquares } from '../statistics/linearSystem.ts';
import type { Unmeasured } from './realPlane.ts';

/** Linear light at a place, taken over the light that the place should give (its reflectance). */
export type LightPlace = { readonly xPx: number; readonly yPx: number; readonly light: number };
/** The field that is seen: a circle, or the circle round a rectangle. */
export type Field = { readonly xPx: number; readonly yPx: number; readonly radiusPx: number };

export type Shading = {
	readonly kind: 'measured';
	/** Light at the farthest reach over light in the middle: mean round the rim, and its darkest and lightest direction. */
	readonly rimRatio: number;
	readonly darkestRimRatio: number;
	readonly lightestRimRatio: number;
	/** Root mean square of what the surface leaves, as a share of the middle's light. */
	readonly restRatio: number;
	/** Farthest place looked at, as a share of the radius: the ratios are taken there, not beyond. */
	readonly reachRatio: number;
	readonly placeCount: number;
};

const LEAST_PLACES = 9;
const LEAST_REACH = 0.35;
const DIRECTIONS = 36;

export function measureShading(places: readonly LightPlace[], field: Field): Shading | Unmeasured {
	if (!(field.radiusPx > 0)) throw new RangeError(`a field needs a radius above 0, got ${field.radiusPx}`);
	const at = places.map((place) => ({
		x: (place.xPx - field.xPx) / field.radiusPx,
		y: (place.yPx - field.yPx) / field.radiusPx,
		light: place.light,
	}));
	const reachRatio = at.reduce((most, { x, y }) => Math.max(most, Math.hypot(x, y)), 0);
	if (places.length < LEAST_PLACES || reachRatio < LEAST_REACH)
		return {
			kind: 'notMeasured',
			reason: 'tooFewPlaces',
			explanation: `Shading needs ${LEAST_PLACES} places of known lightness that reach a third of the way to the rim.`,
		};
	const terms = at.map(({ x, y }) => termsAt(x, y));
	const factors = leastSquares(
		terms,
		at.map(({ light }) => light),
	);
	const levelAt = (x: number, y: number): number =>
		termsAt(x, y).reduce((sum, term, i) => sum + term * factors[i]!, 0);
	const middle = levelAt(0, 0);
	if (!(middle > 0))
		return { kind: 'notMeasured', reason: 'dark', explanation: 'The middle of the view gives no light.' };
	const rim = Array.from({ length: DIRECTIONS }, (_, i) => {
		const angle = (2 * Math.PI * i) / DIRECTIONS;
		return levelAt(Math.cos(angle) * reachRatio, Math.sin(angle) * reachRatio) / middle;
	});
	const squares = at.reduce((sum, { x, y, light }) => sum + (light - levelAt(x, y)) ** 2, 0);
	return {
		kind: 'measured',
		rimRatio: rim.reduce((sum, ratio) => sum + ratio, 0) / rim.length,
		darkestRimRatio: Math.min(...rim),
		lightestRimRatio: Math.max(...rim),
		restRatio: Math.sqrt(squares / at.length) / middle,
		reachRatio,
		placeCount: places.length,
	};
}

function termsAt(x: number, y: number): number[] {
	return [1, x, y, x * x, x * y, y * y];
}
