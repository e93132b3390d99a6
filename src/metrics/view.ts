/**
 * How a printed card was seen: pixels to its millimetre, how much of it a picture's width shows, how far the lens bends the corner; and whether
 * detail is kept out there. Centre and edge: the third of the edges that lie nearest the picture's middle against the third that lie
 * farthest out, of a printed card in cycles a millimetre of it, so that what a barrel squeezes counts as squeezed. A still that the card
 * fills has them from a fifth to two thirds of the way out: lay the card into a corner for another still to reach further. The link
 * card has them at a quarter and three quarters.
 */
import type { DetailSample } from '../observations/run.ts';
import { middle, middleOrNull } from './pictureDetails.ts';
import type { Fidelity } from './pictureMetric.ts';

/** Read: of a printed card some may be out of view. Of a card read unscaled each picture has two nearer and two farther out. */
const LEAST_EDGES = { perMm: 6, perPx: 4 } as const;
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

type PlacedEdge = { readonly fieldRatio: number; readonly mtf50: number };

function centreAndEdgeOf(details: readonly DetailSample[]): NonNullable<Fidelity['centreAndEdge']> | null {
	const edges = details.flatMap((detail) => detail.edges);
	const perMm = thirdsOf(
		edges.flatMap(({ mtf50CyPx, pxPerMm, fieldRatio }) =>
			pxPerMm === undefined || fieldRatio === undefined ? [] : [{ fieldRatio, mtf50: mtf50CyPx * pxPerMm }],
		),
		LEAST_EDGES.perMm,
	);
	if (perMm !== null) {
		const { near, far, ...ratios } = perMm;
		return { ...ratios, nearMtf50CyPerMm: near, farMtf50CyPerMm: far };
	}
	const perPx = thirdsOf(
		edges.flatMap(({ mtf50CyPx, pxPerMm, fieldRatio }) =>
			pxPerMm !== undefined || fieldRatio === undefined ? [] : [{ fieldRatio, mtf50: mtf50CyPx }],
		),
		LEAST_EDGES.perPx,
	);
	if (perPx === null) return null;
	const { near, far, ...ratios } = perPx;
	return { ...ratios, nearMtf50CyPx: near, farMtf50CyPx: far };
}

/** Those that lie as far out as the last of a third belong to it: the edges of one card in many pictures are not parted. */
function thirdsOf(edges: readonly PlacedEdge[], least: number) {
	if (edges.length < least) return null;
	const sorted = edges.toSorted((a, b) => a.fieldRatio - b.fieldRatio);
	const third = Math.floor(sorted.length / 3);
	const nearest = sorted[third - 1]!.fieldRatio;
	const farthest = sorted.at(-third)!.fieldRatio;
	const near = figuresOf(sorted.filter(({ fieldRatio }) => fieldRatio <= nearest));
	const far = figuresOf(sorted.filter(({ fieldRatio }) => fieldRatio >= farthest));
	if (far.fieldRatio - near.fieldRatio < LEAST_APART) return null;
	return {
		nearRatio: near.fieldRatio,
		farRatio: far.fieldRatio,
		keptRatio: far.mtf50 / near.mtf50,
		near: near.mtf50,
		far: far.mtf50,
	};
}

function figuresOf(part: readonly PlacedEdge[]): PlacedEdge {
	return {
		fieldRatio: middle(part.map(({ fieldRatio }) => fieldRatio)),
		mtf50: middle(part.map(({ mtf50 }) => mtf50)),
	};
}
