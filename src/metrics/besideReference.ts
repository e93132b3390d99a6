/**
 * A run set beside a reference run of the same card: through a lens there is no other truth than what the kit itself, or a reference system,
 * made of the same sheet. What the reference saw of each patch becomes what is expected, and its edges, in cycles a millimetre of the
 * card, become those of each edge here, whatever the distance. A run whose card is known as drawn (the link, a recording of it) keeps
 * that as its truth: there the reference stands beside, in the ratios alone (againstReference.ts).
 */
import { deltaE00 } from '../colour/deltaE00.ts';
import { srgbToLab65 } from '../colour/srgbToLab65.ts';
import type { Header } from '../observations/records.ts';
import type { DetailSample, Run } from '../observations/run.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { gatherPatchMeans, type PatchMeans } from './patchMeans.ts';
import { grouped, middle, observedDetails } from './pictureDetails.ts';

/** The same run with the reference in it; the very same where it needs none or has one already. */
export function besideReference(run: Run, reference: Run): Run {
	if (run.header.colourReference !== 'none') return run;
	const edges = edgesPerMm(reference);
	return {
		...run,
		header: { ...run.header, ...coloursOf(run.header, gatherPatchMeans(reference)) },
		details: run.details.map((detail) => withEdges(detail, edges)),
	};
}

function coloursOf(header: Header, seen: ReturnType<typeof gatherPatchMeans>): Partial<Header> {
	if (seen.kind === 'notMeasured') return {};
	const names = (patches: readonly { readonly name: string }[]): string =>
		patches.map(({ name }) => name).join('\n');
	if (names(header.patches) !== names(seen.references)) return {};
	return {
		patches: header.patches.map((patch, i) => ({ ...patch, rgb: [...seen.seen[i]!] })),
		colourReference: 'picture',
		colourControl: spreadOf(seen),
	};
}

/** How far the reference's own samples lie from their mean: what the reading adds. */
function spreadOf({ seen, samples }: PatchMeans): NonNullable<Header['colourControl']> {
	const truth = seen.map(srgbToLab65);
	const shifts = sortSamples(
		samples.flatMap((sample) => sample.map((rgb, i) => deltaE00(srgbToLab65(rgb), truth[i]!))),
	);
	return {
		medianDeltaE00: quantileSorted(shifts, 0.5),
		maxDeltaE00: quantileSorted(shifts, 1),
		how: 'the reference run’s samples against their own mean',
	};
}

/** Cycles a millimetre at half contrast, by place. */
function edgesPerMm(reference: Run): ReadonlyMap<string, number> {
	const edges = observedDetails(reference)
		.flatMap((detail) => detail.edges)
		.flatMap(({ place, mtf50CyPx, pxPerMm }) =>
			pxPerMm === undefined ? [] : [{ place, perMm: mtf50CyPx * pxPerMm }],
		);
	return new Map(
		grouped(edges, ({ place }) => place).map((group) => [
			group[0]!.place,
			middle(group.map(({ perMm }) => perMm)),
		]),
	);
}

function withEdges(detail: DetailSample, perMm: ReadonlyMap<string, number>): DetailSample {
	return {
		...detail,
		edges: detail.edges.map((edge) => {
			const asked = perMm.get(edge.place);
			return edge.referenceMtf50CyPx !== null || asked === undefined || edge.pxPerMm === undefined
				? edge
				: { ...edge, referenceMtf50CyPx: asked / edge.pxPerMm };
		}),
	};
}
