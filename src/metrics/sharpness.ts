/**
 * Sharpness of a run: MTF50 of its slanted edges (imaging/edgeResponse.ts), each as the middle over the pictures of the observed
 * time, then the middle over the edges; and what is left of the same edges as they should be, where that is known. The bounds
 * are over the pictures: the run's ratio from each picture alone, their mean and Student's t (`repeatBounds.ts`);
 * of a single picture, over its edges.
 */
import type { DetailSample, Run } from '../observations/run.ts';
import { hdrReason } from './hdr.ts';
import type { Metric } from './metric.ts';
import { grouped, middle, middleOrNull, observedDetails, presentOf } from './pictureDetails.ts';
import type { Sharpness } from './pictureMetric.ts';
import { repeatHalfWidth } from './repeatBounds.ts';

type Edge = DetailSample['edges'][number];

export function measureSharpness(run: Run): Metric<Sharpness> {
	const pictures = observedDetails(run).filter(({ edges }) => edges.length > 0);
	if (pictures.length === 0)
		return (
			hdrReason(run) ?? {
				kind: 'notMeasured',
				reason: 'noEdgeReading',
				explanation: 'No slanted edge was read in this run, so nothing is said of fine detail.',
			}
		);
	const groups = grouped(
		pictures.flatMap(({ edges }) => edges),
		({ place, axis }) => `${place} ${axis}`,
	);
	const edges = groups.map(edgeFigures);
	const ratios = presentOf(edges.map(({ ofReferenceRatio }) => ofReferenceRatio));
	const ofReferenceRatio = ratios.length === 0 ? null : middle(ratios);
	return {
		kind: 'measured',
		mtf50CyPx: middle(edges.map(({ mtf50CyPx }) => mtf50CyPx)),
		mtf10CyPx: middleOrNull(edges.map(({ mtf10CyPx }) => mtf10CyPx)),
		overshootRatio: middle(edges.map(({ overshootRatio }) => overshootRatio)),
		referenceMtf50CyPx: middleOrNull(groups.map((group) => group[0]!.referenceMtf50CyPx)),
		ofReferenceRatio,
		...boundsOver(pictures, ofReferenceRatio),
		edges,
		pictureCount: pictures.length,
	};
}

function edgeFigures(group: readonly Edge[]): Sharpness['edges'][number] {
	const { place, axis } = group[0]!;
	return {
		place,
		axis,
		mtf50CyPx: middle(group.map(({ mtf50CyPx }) => mtf50CyPx)),
		mtf10CyPx: middleOrNull(group.map(({ mtf10CyPx }) => mtf10CyPx)),
		overshootRatio: middle(group.map(({ overshootRatio }) => overshootRatio)),
		ofReferenceRatio: middleOrNull(group.map(ratioOf)),
	};
}

function ratioOf({ mtf50CyPx, referenceMtf50CyPx }: Edge): number | null {
	return referenceMtf50CyPx === null ? null : mtf50CyPx / referenceMtf50CyPx;
}

function boundsOver(pictures: readonly DetailSample[], reading: number | null) {
	const [first, ...others] = pictures;
	const each = presentOf(
		others.length === 0
			? first!.edges.map(ratioOf)
			: pictures.map(({ edges }) => middleOrNull(edges.map(ratioOf))),
	);
	if (reading === null || each.length < 2)
		return { ofReferenceLowerRatio: null, ofReferenceUpperRatio: null };
	const mean = each.reduce((sum, ratio) => sum + ratio, 0) / each.length;
	const halfWidth = repeatHalfWidth(each);
	return {
		ofReferenceLowerRatio: Math.max(0, Math.min(reading, mean) - halfWidth),
		ofReferenceUpperRatio: Math.max(reading, mean) + halfWidth,
	};
}
