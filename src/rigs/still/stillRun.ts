/**
 * Stills as observations: the card found in each, its colours in four parts a patch (so that even one picture has repeats),
 * and its detail. What the pictures are set against is in the header: the card as drawn (the still never passed a lens), a
 * reference still of the same card, or nothing, and then nothing is judged by it. A still has no time: all stands at 0 ms.
 */
import { deltaE00 } from '../../colour/deltaE00.ts';
import type { Rgb } from '../../colour/rgb.ts';
import { srgbToLab65 } from '../../colour/srgbToLab65.ts';
import { OutsideFailure } from '../../failure.ts';
import { lumaOf } from '../../imaging/planes.ts';
import type { Raster } from '../../imaging/raster.ts';
import { rasterToPlanes } from '../../imaging/rasterToPlanes.ts';
import type { PictureDetail } from '../../observations/pictureDetail.ts';
import {
	FORMAT,
	type Header,
	type ObservationRecord,
	type PatchReference,
	VERSION,
} from '../../observations/records.ts';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM, detailPatches } from '../../pattern/detailCard.ts';
import { drawDetailCard } from '../../pattern/detailRaster.ts';
import { type CardPose, fitCardPose } from '../../reading/cardPose.ts';
import { readPatchNoise } from '../../reading/detailCardNoise.ts';
import {
	type ReferenceEdges,
	readBoxColours,
	readDetail,
	readPatchParts,
	referenceEdges,
} from '../../reading/detailCardReading.ts';
import { findDetailCard } from '../../reading/findDetailCard.ts';
import { chartBox, type ReferenceChart } from '../../reading/referenceChart.ts';
import { quantileSorted, sortSamples } from '../../statistics/quantile.ts';

export type NamedStill = { readonly name: string; readonly raster: Raster };
export type Corner = readonly [x: number, y: number];

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
	readonly chart: { readonly chart: ReferenceChart; readonly corners: readonly Corner[] } | null;
};

/** Each patch is read in two by two parts. */
const PARTS = 2;
const FULL = { matrix: '709', range: 'full' } as const;
const LOST_AFTER_MS = 1000;

/** Gives notes for a person. Throws `OutsideFailure` whose code begins with `still` when a picture holds no card. */
export function runStill(options: StillOptions, record: (record: ObservationRecord) => void): string[] {
	const readings = options.stills.map((still) => read(still, options));
	const reference = typeof options.against === 'object' ? read(options.against.reference, options) : null;
	const drawn = drawnPatches(options);
	const control = controlOf(options, reference);
	record(headerOf(options, { patches: patchesOf(drawn, reference), control }));
	record({ kind: 'segment', segment: 0, startMs: 0, warmUpUntilMs: 0 });
	const edges = edgesOf(options, reference);
	const together = isOneScene(readings);
	for (const [i, reading] of readings.entries()) {
		const at = { segment: 0, frameNumber: i, atMs: 0 };
		for (const colours of reading.parts)
			record({ kind: 'patches', ...at, path: 'decoded', rgb: colours.map(([r, g, b]) => [r, g, b]) });
		// Pictures of one scene tell their noise together, once.
		const scene = together && i === 0 ? readings.map(({ raster }) => raster) : [reading.raster];
		const noiseTold = together && i > 0 ? { noise: [] } : {};
		if (options.chart === null)
			record({
				kind: 'detail',
				...at,
				...readDetail(scene, reading.pose, edges),
				...seenFrom(reading, options.distancesMm?.[i] ?? null),
				...lightOf(options, i),
				...noiseTold,
			});
		else
			record({
				kind: 'detail',
				...at,
				...NO_DETAIL,
				noise: chartNoise(scene, reading.pose, options.chart.chart),
				...lightOf(options, i),
				...noiseTold,
			});
	}
	record({ kind: 'segmentEnd', segment: 0, endMs: 0, reason: 'runEnd' });
	record({ kind: 'end', atMs: 0, reason: 'runEnd' });
	return notesOf(readings, options);
}

const NO_DETAIL = {
	edges: [],
	lines: [],
	noise: [],
	blockinessRatio: null,
	chromaBleedRatio: null,
	rimLightRatio: null,
};

function lightOf({ lights }: StillOptions, still: number): Pick<PictureDetail, 'light'> {
	const light = lights?.[still];
	return light === undefined ? {} : { light };
}

/** A chart of one's own has neither known edges nor lines; of its greys the noise is told. */
function chartNoise(
	rasters: readonly Raster[],
	pose: CardPose,
	{ patches }: ReferenceChart,
): PictureDetail['noise'] {
	return patches
		.filter(({ rgb }) => isGrey(rgb))
		.toSorted((a, b) => a.rgb[1] - b.rgb[1])
		.slice(0, MOST_GREYS)
		.flatMap((patch) =>
			readPatchNoise(rasters, pose, { name: patch.name.slice(0, 60), inner: chartBox(patch) }),
		);
}
/** As many as a record holds. */
const MOST_GREYS = 40;

type Reading = {
	readonly name: string;
	readonly raster: Raster;
	readonly pose: CardPose;
	/** One list of all patches for each part. */
	readonly parts: readonly (readonly Rgb[])[];
};

function read({ name, raster }: NamedStill, { chart }: StillOptions): Reading {
	if (chart !== null) {
		const pose = chartPose(raster, chart);
		const byPatch = chart.chart.patches.map((patch) =>
			readBoxColours(raster, pose, { box: chartBox(patch), parts: PARTS }),
		);
		const parts = Array.from({ length: PARTS * PARTS }, (_, part) =>
			byPatch.map((colours) => colours[part]!),
		);
		return { name, raster, pose, parts };
	}
	const found = findDetailCard(lumaOf(rasterToPlanes(raster, FULL)));
	if (found.kind === 'notMeasured')
		throw new OutsideFailure(
			`still${found.reason[0]!.toUpperCase()}${found.reason.slice(1)}`,
			`${name}: ${found.explanation}`,
			'Take the still again, or give --chart with --corners for a chart of your own.',
		);
	return { name, raster, pose: found.pose, parts: readPatchParts(raster, found.pose, PARTS) };
}

function chartPose(raster: Raster, { chart, corners }: NonNullable<StillOptions['chart']>): CardPose {
	const { columnCount, rowCount } = chart;
	const places = [
		{ x: 0, y: 0 },
		{ x: columnCount, y: 0 },
		{ x: columnCount, y: rowCount },
		{ x: 0, y: rowCount },
	];
	const outside = corners.find(([x, y]) => x < 0 || y < 0 || x >= raster.widthPx || y >= raster.heightPx);
	if (corners.length !== 4 || outside !== undefined)
		throw new OutsideFailure(
			'stillCorners',
			`Four corners inside the picture of ${raster.widthPx} x ${raster.heightPx} px are needed, got ${corners.map((corner) => corner.join(',')).join(' ')}.`,
			'Give --corners as four places "x,y", clockwise from the chart’s own upper left.',
		);
	return fitCardPose(
		places.map((mm, i) => ({ mm, picture: { x: corners[i]![0], y: corners[i]![1] } })),
		raster,
	);
}

function drawnPatches({ chart }: StillOptions): PatchReference[] {
	if (chart !== null)
		return chart.chart.patches.map(({ name, rgb: [r, g, b] }) => ({
			name,
			role: isGrey([r, g, b]) ? 'neutral' : 'other',
			rgb: [r, g, b],
		}));
	return detailPatches.map(({ name, role, rgb: [r, g, b] }) => ({ name, role, rgb: [r, g, b] }));
}

function isGrey([red, green, blue]: Rgb): boolean {
	return Math.max(red, green, blue) - Math.min(red, green, blue) <= 6;
}

function patchesOf(drawn: readonly PatchReference[], reference: Reading | null): PatchReference[] {
	if (reference === null) return [...drawn];
	return drawn.map((patch, i) => ({ ...patch, rgb: meanColour(reference, i) }));
}

function meanColour({ parts }: Reading, patch: number): [number, number, number] {
	const channel = (c: 0 | 1 | 2): number =>
		parts.reduce((sum, colours) => sum + colours[patch]![c], 0) / parts.length;
	return [channel(0), channel(1), channel(2)];
}

/** The reading tried on what is known: the reference's parts against its own mean, or the card drawn and read. */
function controlOf(options: StillOptions, reference: Reading | null): Header['colourControl'] {
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

function edgesOf({ against, chart }: StillOptions, reference: Reading | null): ReferenceEdges | null {
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

/** Stills whose cards lie at one place, to half a pixel at the corners: then what differs is noise. */
function isOneScene(readings: readonly Reading[]): boolean {
	const [first, ...others] = readings;
	if (first === undefined || others.length === 0) return false;
	const corners = [0, CARD_WIDTH_MM].flatMap((x) => [0, CARD_HEIGHT_MM].map((y) => ({ x, y })));
	return others.every(
		({ raster, pose }) =>
			raster.widthPx === first.raster.widthPx &&
			raster.heightPx === first.raster.heightPx &&
			corners.every((corner) => {
				const a = pose.toPicture(corner);
				const b = first.pose.toPicture(corner);
				return Math.hypot(a.x - b.x, a.y - b.y) < 0.5;
			}),
	);
}

function seenFrom({ raster, pose }: Reading, distanceMm: number | null): Pick<PictureDetail, 'seenFrom'> {
	const y = (raster.heightPx - 1) / 2;
	const left = pose.toCard({ x: 0, y });
	const right = pose.toCard({ x: raster.widthPx - 1, y });
	if (distanceMm === null || left === null || right === null) return {};
	const pxPerMm = pose.pxPerMmAt({ x: CARD_WIDTH_MM / 2, y: CARD_HEIGHT_MM / 2 });
	return {
		seenFrom: { distanceMm, pxPerMm, halfWidthMm: Math.hypot(right.x - left.x, right.y - left.y) / 2 },
	};
}

const CHART_ONLY =
	'A chart of your own gives colour, greys and noise. Fine detail, lines, light towards the rim, field of view and distortion need the card of colour and detail (card --layout detail): no chart file says where edges lie.';

function notesOf(readings: readonly Reading[], { chart }: StillOptions): string[] {
	if (chart !== null) return [CHART_ONLY];
	return readings.map(({ name, pose }) => {
		const mirrored = pose.mirrored ? ', a MIRROR IMAGE' : '';
		const centre = { x: CARD_WIDTH_MM / 2, y: CARD_HEIGHT_MM / 2 };
		return `${name}: card found, turned by ${Math.round(pose.turnedDeg)} degrees${mirrored}, ${pose.pxPerMmAt(centre).toFixed(1)} px to its millimetre in the middle, lens bends the corner by ${(100 * pose.bendRatio).toFixed(1)} %, marks missed by ${pose.missPx.toFixed(2)} px.`;
	});
}
