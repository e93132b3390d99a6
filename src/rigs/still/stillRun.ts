/**
 * Stills as observations: the card found in each, its colours in four parts a patch (so that even one picture has repeats),
 * and its detail. What the pictures are set against is in the header: the card as drawn (the still never passed a lens), a
 * reference still of the same card, or nothing, and then nothing is judged by it. A still has no time: all stands at 0 ms. Looks of a clip of the
 * card moved by hand have the clip's, and are no observed time either.
 */
import { deltaE00 } from '../../colour/deltaE00.ts';
import type { Rgb } from '../../colour/rgb.ts';
import { srgbToLab65 } from '../../colour/srgbToLab65.ts';
import { lumaOf } from '../../imaging/planes.ts';
import { rasterToPlanes } from '../../imaging/rasterToPlanes.ts';
import {
	FORMAT,
	type Header,
	type ObservationRecord,
	type PatchReference,
	VERSION,
} from '../../observations/records.ts';
import { detailPatches } from '../../pattern/detailCard.ts';
import { drawDetailCard } from '../../pattern/detailRaster.ts';
import { type ReferenceEdges, readPatchParts, referenceEdges } from '../../reading/detailCardReading.ts';
import { findDetailCard } from '../../reading/findDetailCard.ts';
import type { MovedLook } from '../../reading/movedCard.ts';
import { quantileSorted, sortSamples } from '../../statistics/quantile.ts';
import { isGrey, NO_DETAIL, stillLooks } from './stillLooks.ts';
import {
	FULL,
	meanColour,
	type NamedStill,
	PARTS,
	type PlacedChart,
	readStillCard,
	type StillReading,
	stillNotes,
} from './stillReading.ts';

export type StillOptions = {
	readonly runId: string;
	readonly toolVersion: string;
	readonly startedAt: string;
	readonly place: string | null;
	readonly stills: readonly NamedStill[];
	readonly against: 'drawn' | 'nothing' | { readonly reference: NamedStill };
	/** From the lens to the card, one for each still; null where it was not stated. */
	readonly distancesMm: readonly number[] | null;
	/** How much light the scope saw each still by; null where it was not said. */
	readonly lights: readonly ('bright' | 'dim')[] | null;
	/** The user's own chart in place of the printed card: its corners in every picture, clockwise from its own upper left. */
	readonly chart: PlacedChart | null;
	/** Of the same card moved by hand, from the kit's own clip; left out where none was given. */
	readonly moved?: readonly MovedLook[];
};

const LOST_AFTER_MS = 1000;

/** Gives notes for a person. Throws `OutsideFailure` whose code begins with `still` when a picture holds no card. */
export function runStill(options: StillOptions, record: (record: ObservationRecord) => void): string[] {
	const readings = options.stills.map((still) => readStillCard(still, options.chart));
	const reference =
		typeof options.against === 'object' ? readStillCard(options.against.reference, options.chart) : null;
	const drawn = drawnPatches(options);
	const control = controlOf(options, reference);
	record(headerOf(options, { patches: patchesOf(drawn, reference), control }));
	record({ kind: 'segment', segment: 0, startMs: 0, warmUpUntilMs: 0 });
	const edges = edgesOf(options, reference);
	for (const look of stillLooks(readings, { ...options, edges, ownPixels: true, segment: 0, atMs: 0 }))
		record(look);
	for (const look of options.moved ?? []) record(movedRecord(look));
	record({ kind: 'segmentEnd', segment: 0, endMs: 0, reason: 'runEnd' });
	record({ kind: 'end', atMs: 0, reason: 'runEnd' });
	return stillNotes(readings, options.chart);
}

function movedRecord({ frameNumber, atMs, edges }: MovedLook): ObservationRecord {
	const motion = { edges: [...edges], ghosts: [], pulse: null };
	return { kind: 'detail', segment: 0, frameNumber, atMs, ...NO_DETAIL, motion };
}

/** Of the printed card, or of the user's chart. */
export function drawnPatches({ chart }: Pick<StillOptions, 'chart'>): PatchReference[] {
	if (chart !== null)
		return chart.chart.patches.map(({ name, rgb: [r, g, b] }) => ({
			name,
			role: isGrey([r, g, b]) ? 'neutral' : 'other',
			rgb: [r, g, b],
		}));
	return detailPatches.map(({ name, role, rgb: [r, g, b] }) => ({ name, role, rgb: [r, g, b] }));
}

function patchesOf(drawn: readonly PatchReference[], reference: StillReading | null): PatchReference[] {
	if (reference === null) return [...drawn];
	return drawn.map((patch, i) => ({ ...patch, rgb: meanColour(reference, i) }));
}

/** The reading tried on what is known: the reference's parts against its own mean, or the card drawn and read. */
function controlOf(options: StillOptions, reference: StillReading | null): Header['colourControl'] {
	if (reference !== null)
		return added(
			reference.parts,
			drawnPatches(options).map((_, i) => meanColour(reference, i)),
			'the reference still read in four parts, against its own mean',
		);
	if (options.against === 'nothing' || options.chart !== null) return undefined;
	const raster = drawDetailCard(CONTROL_PX_PER_MM);
	const found = findDetailCard(lumaOf(rasterToPlanes(raster, FULL)));
	if (found.kind === 'notMeasured') return undefined;
	return added(
		readPatchParts(raster, found.pose, PARTS),
		detailPatches.map(({ rgb }) => rgb),
		'the card drawn and read back',
	);
}
const CONTROL_PX_PER_MM = 8;

function added(
	parts: readonly (readonly Rgb[])[],
	truth: readonly Rgb[],
	how: string,
): NonNullable<Header['colourControl']> {
	const shifts = sortSamples(
		parts.flatMap((colours) => colours.map((rgb, i) => deltaE00(srgbToLab65(rgb), srgbToLab65(truth[i]!)))),
	);
	return { medianDeltaE00: quantileSorted(shifts, 0.5), maxDeltaE00: quantileSorted(shifts, 1), how };
}

function edgesOf({ against, chart }: StillOptions, reference: StillReading | null): ReferenceEdges | null {
	if (chart !== null || against === 'nothing') return null;
	if (reference !== null) return referenceEdges(reference.raster, reference.pose);
	return null;
}

type HeaderParts = { readonly patches: PatchReference[]; readonly control: Header['colourControl'] };

function headerOf(options: StillOptions, { patches, control }: HeaderParts): Header {
	const { runId, toolVersion, startedAt, place, stills, against, chart } = options;
	const first = stills[0]!.raster;
	return {
		kind: 'header',
		format: FORMAT,
		version: VERSION,
		toolVersion,
		runId,
		rig: 'still',
		subject: {
			kind: 'recording',
			name:
				stills.length === 1
					? `the still ${stills[0]!.name}`
					: `${stills.length} stills, ${stills[0]!.name} first`,
			invented: false,
		},
		place,
		joined: null,
		profile: 'file',
		startedAt,
		measuringPoints: { source: 'file', viewer: 'file' },
		viewerClock: 'reference',
		source: {
			layout: chart === null ? 'detail' : 'chart',
			widthPx: first.widthPx,
			heightPx: first.heightPx,
			rateHz: 1,
			seed: 0,
			difficulty: 'easy',
		},
		path: null,
		displayPeriodMs: null,
		lostAfterMs: LOST_AFTER_MS,
		systematics: [],
		patches,
		colourReference: typeof against === 'object' ? 'picture' : against === 'drawn' ? 'drawn' : 'none',
		...(control === undefined ? {} : { colourControl: control }),
	};
}
