/**
 * How a printed card was seen: pixels to its millimetre, how much of it a picture's width shows, how far the lens bends the corner; and whether
 * detail is kept out there. Centre and edge: the third of the edges that lie nearest the picture's middle against the third that lie
 * farthest out, in cycles a millimetre of the card, so that what a barrel squeezes counts as squeezed. A still that the card
 * fills has them from a fifth to two thirds of the way out: lay the card into a corner for another still to reach further.
 */
import type { DetailSample } from '../observations/run.ts';
import { middle, middleOrNull } from './pictureDetails.ts';
import type { Fidelity } from './pictureMetric.ts';

const LEAST_EDGES = 6;
/** Of the way to the corner that must lie between the two for them to be called centre and edge. */
const LEAST_APART = 0.1;

export function viewFigures(details: readonly DetailSample[]): Pick<Fidelity, 'view' | 'centreAndEdge'> {
	const views = details.flatMap(({ view }) => (view === undefined ? [] : [view]));
	const centreAndEdge = centreAndEdgeOf(details);
	return {
		...(views.length === 0
			? {}
			: {
					view: {
						pxPerMm: middle(views.map(({ pxPerMm }) => pxPerMm)),
						widthMm: middleOrNull(views.map(({ widthMm }) => widthMm)),
						bendRatio: middle(views.map(({ bendRatio }) => bendRatio)),
					},
				}),
		...(centreAndEdge === null ? {} : { centreAndEdge }),
	};
}

function centreAndEdgeOf(details: readonly DetailSample[]): NonNullable<Fidelity['centreAndEdge']> | null {
	const edges = details
		.flatMap((detail) => detail.edges)
		.flatMap(({ mtf50CyPx, pxPerMm, fieldRatio }) =>
			pxPerMm === undefined || fieldRatio === undefined
				? []
				: [{ fieldRatio, mtf50CyPerMm: mtf50CyPx * pxPerMm }],
		)
		.toSorted((a, b) => a.fieldRatio - b.fieldRatio);
	if (edges.length < LEAST_EDGES) return null;
	const third = Math.floor(edges.length / 3);
	const figures = (part: typeof edges) => ({
		fieldRatio: middle(part.map(({ fieldRatio }) => fieldRatio)),
		mtf50CyPerMm: middle(part.map(({ mtf50CyPerMm }) => mtf50CyPerMm)),
	});
	const near = figures(edges.slice(0, third));
	const far = figures(edges.slice(-third));
	if (far.fieldRatio - near.fieldRatio < LEAST_APART) return null;
	return {
		nearRatio: near.fieldRatio,
		farRatio: far.fieldRatio,
		nearMtf50CyPerMm: near.mtf50CyPerMm,
		farMtf50CyPerMm: far.mtf50CyPerMm,
		keptRatio: far.mtf50CyPerMm / near.mtf50CyPerMm,
	};
}
