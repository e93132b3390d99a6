/**
 * Stills whose cards were found, as looks of a run: the colours of each in its parts, and its detail. Pictures of one scene by one light tell
 * their noise together, once; what differs between them is noise only there.
 */
import type { Rgb } from '../../colour/rgb.ts';
import type { Raster } from '../../imaging/raster.ts';
import type { PictureDetail } from '../../observations/pictureDetail.ts';
import type { ObservationRecord } from '../../observations/records.ts';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM } from '../../pattern/detailCard.ts';
import type { CardPose } from '../../reading/cardPose.ts';
import { readPatchNoise } from '../../reading/detailCardNoise.ts';
import { type ReferenceEdges, readDetail } from '../../reading/detailCardReading.ts';
import { readPaperBleed } from '../../reading/paperBleed.ts';
import { chartBox, type ReferenceChart } from '../../reading/referenceChart.ts';
import type { PlacedChart, StillReading } from './stillReading.ts';

type Light = 'bright' | 'dim';

type LookOptions = {
	readonly distancesMm: readonly number[] | null;
	readonly lights: readonly Light[] | null;
	readonly chart: PlacedChart | null;
	readonly edges: ReferenceEdges | null;
	/** The pictures' pixels are the kit's own; left out of a film of its tablet, whose colours run in the phone as well. */
	readonly ownPixels?: true;
	/** Where in the run they stand. */
	readonly segment: number;
	readonly atMs: number;
};

export function stillLooks(readings: readonly StillReading[], options: LookOptions): ObservationRecord[] {
	const { segment, atMs, lights, chart } = options;
	return readings.flatMap((reading, i): ObservationRecord[] => {
		const light = lights?.[i];
		const at = { segment, frameNumber: i, atMs };
		const sameLight = readings.filter((_, other) => lights?.[other] === light);
		const together = isOneScene(sameLight);
		const scene = together && sameLight[0] === reading ? sameLight : [reading];
		const rasters = scene.map(({ raster }) => raster);
		const detail =
			chart === null
				? {
						...readDetail(rasters, reading.pose, options.edges),
						chromaBleedRatio:
							options.ownPixels === true ? readPaperBleed(reading.raster, reading.pose) : null,
						...seenFrom(reading, options.distancesMm?.[i] ?? null),
					}
				: { ...NO_DETAIL, noise: chartNoise(rasters, reading.pose, chart.chart) };
		// Colours of two lights have no mean: where both were given, the bright ones tell them.
		const coloured = light !== 'dim' || !(lights?.includes('bright') ?? false);
		return [
			...(coloured ? reading.parts : []).map(
				(colours): ObservationRecord => ({
					kind: 'patches',
					...at,
					path: 'decoded',
					rgb: colours.map(([r, g, b]) => [r, g, b]),
				}),
			),
			{
				kind: 'detail',
				...at,
				...detail,
				...(light === undefined ? {} : { light }),
				...(together && sameLight[0] !== reading ? { noise: [] } : {}),
			},
		];
	});
}

export const NO_DETAIL: PictureDetail = {
	edges: [],
	lines: [],
	noise: [],
	blockinessRatio: null,
	chromaBleedRatio: null,
	rimLightRatio: null,
};

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

/** As a chart's file gives it. */
export function isGrey([red, green, blue]: Rgb): boolean {
	return Math.max(red, green, blue) - Math.min(red, green, blue) <= 6;
}

/** Stills whose cards lie at one place, to half a pixel at the corners: then what differs is noise. */
function isOneScene(readings: readonly StillReading[]): boolean {
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

function seenFrom(
	{ raster, pose }: StillReading,
	distanceMm: number | null,
): Pick<PictureDetail, 'seenFrom'> {
	const y = (raster.heightPx - 1) / 2;
	const left = pose.toCard({ x: 0, y });
	const right = pose.toCard({ x: raster.widthPx - 1, y });
	if (distanceMm === null || left === null || right === null) return {};
	const pxPerMm = pose.pxPerMmAt({ x: CARD_WIDTH_MM / 2, y: CARD_HEIGHT_MM / 2 });
	return {
		seenFrom: { distanceMm, pxPerMm, halfWidthMm: Math.hypot(right.x - left.x, right.y - left.y) / 2 },
	};
}
