/** One still with its card found, or the user's chart placed by its corners, and the colours of its patches in several parts each. */
import type { Rgb } from '../../colour/rgb.ts';
import { OutsideFailure } from '../../failure.ts';
import { lumaOf } from '../../imaging/planes.ts';
import type { Raster } from '../../imaging/raster.ts';
import { rasterToPlanes } from '../../imaging/rasterToPlanes.ts';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM } from '../../pattern/detailCard.ts';
import { type CardPose, fitCardPose } from '../../reading/cardPose.ts';
import { readBoxColours, readPatchParts } from '../../reading/detailCardReading.ts';
import { findDetailCard } from '../../reading/findDetailCard.ts';
import { chartBox, type ReferenceChart } from '../../reading/referenceChart.ts';

export type NamedStill = { readonly name: string; readonly raster: Raster };
export type Corner = readonly [x: number, y: number];

/** A chart of the user's own in place of the printed card: its corners in every picture, clockwise from its own upper left. */
export type PlacedChart = { readonly chart: ReferenceChart; readonly corners: readonly Corner[] };

/** Each patch is read in two by two parts, so that even one picture has repeats. */
export const PARTS = 2;
export const FULL = { matrix: '709', range: 'full' } as const;

export type StillReading = {
	readonly name: string;
	readonly raster: Raster;
	readonly pose: CardPose;
	/** One list of all patches for each part. */
	readonly parts: readonly (readonly Rgb[])[];
};

const STILL_AGAIN = 'Take the still again, or give --chart with --corners for a chart of your own.';

/** Throws `OutsideFailure` whose code begins with `still`; `again` is what to do then. */
export function readStillCard(
	{ name, raster }: NamedStill,
	chart: PlacedChart | null,
	again = STILL_AGAIN,
): StillReading {
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
			again,
		);
	return { name, raster, pose: found.pose, parts: readPatchParts(raster, found.pose, PARTS) };
}

function chartPose(raster: Raster, { chart, corners }: PlacedChart): CardPose {
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

export function meanColour({ parts }: StillReading, patch: number): [number, number, number] {
	const channel = (c: 0 | 1 | 2): number =>
		parts.reduce((sum, colours) => sum + colours[patch]![c], 0) / parts.length;
	return [channel(0), channel(1), channel(2)];
}

const CHART_ONLY =
	'A chart of your own gives colour, greys and noise. Fine detail, lines, light towards the rim, field of view and distortion need the card of colour and detail (card --layout detail): no chart file says where edges lie.';

/** What a person should know of how each was read; said once for those in a row of which it is the same. */
export function stillNotes(readings: readonly StillReading[], chart: PlacedChart | null): string[] {
	if (chart !== null) return [CHART_ONLY];
	const found = readings.map(({ name, pose }) => {
		const mirrored = pose.mirrored ? ', a MIRROR IMAGE' : '';
		const centre = { x: CARD_WIDTH_MM / 2, y: CARD_HEIGHT_MM / 2 };
		const seen = `card found, turned by ${Math.round(pose.turnedDeg)} degrees${mirrored}, ${pose.pxPerMmAt(centre).toFixed(1)} px to its millimetre in the middle, lens bends the corner by ${Math.round(100 * pose.bendRatio)} %, marks missed by ${pose.missPx.toFixed(1)} px.`;
		return { name, seen };
	});
	return found.flatMap(({ name, seen }, i) => {
		if (found[i - 1]?.seen === seen) return [];
		const others = found.slice(i + 1).findIndex((other) => other.seen !== seen);
		const alike = others === -1 ? found.length - i : others + 1;
		return [`${name}${alike === 1 ? '' : ` and the ${alike - 1} after it`}: ${seen}`];
	});
}
