/**
 * Noise of a printed chart's even greys, once its place is known: of one picture what stands still, of several of one scene what moves, and
 * what moves together: rows, columns (a lamp or a screen that flickers against the shutter) and the whole patch.
 */
import { decodeSrgb } from '../colour/srgbTransfer.ts';
import { measureNoise } from '../imaging/noise.ts';
import type { Raster } from '../imaging/raster.ts';
import { createRealPlane, lightOfRaster, type RealPlane } from '../imaging/realPlane.ts';
import type { Rect } from '../imaging/rect.ts';
import type { PictureDetail } from '../observations/pictureDetail.ts';
import type { Box } from '../pattern/detailCard.ts';
import type { CardPose } from './cardPose.ts';

type PatchPose = Pick<CardPose, 'toPicture' | 'pxPerMmAt' | 'turnedDeg'>;
/** An even grey and the part of it that is looked at. */
type EvenPatch = { readonly name: string; readonly inner: Box };

/** None where the patch is too small in the picture. The pictures are of one scene, not moved between them. */
export function readPatchNoise(
	rasters: readonly Raster[],
	pose: PatchPose,
	{ name, inner }: EvenPatch,
): PictureDetail['noise'] {
	const noise = measureNoise(rasters.map((raster) => lightInside(raster, pose, inner)));
	if (noise.kind === 'notMeasured') return [];
	return [
		{
			patch: name,
			meanRatio: noise.mean,
			temporalRatio: noise.temporal,
			fixedPatternRatio: noise.fixedPattern,
			signalToNoiseRatio: noise.signalToNoise,
			frozen: noise.frozen,
			...flickerOf(rasters, pose, inner),
		},
	];
}

/** Bands lie along the picture's own rows and columns, however the card is turned: an upright place inside the patch. */
function flickerOf(
	rasters: readonly Raster[],
	pose: PatchPose,
	inner: Box,
): Pick<PictureDetail['noise'][number], 'banding' | 'waveringRatio'> {
	const rect = uprightInside(pose, inner);
	const isInside = ({ widthPx, heightPx }: Raster): boolean =>
		rect.xPx >= 0 &&
		rect.yPx >= 0 &&
		rect.xPx + rect.widthPx <= widthPx &&
		rect.yPx + rect.heightPx <= heightPx;
	if (rasters.length < 2 || !rasters.every(isInside)) return {};
	const noise = measureNoise(rasters.map((raster) => lightOfRaster(raster, rect)));
	if (noise.kind === 'notMeasured' || noise.banding === null) return {};
	const { rows, columns } = noise.banding;
	return { banding: { rowsRatio: rows, columnsRatio: columns }, waveringRatio: noise.wavering };
}

/** The largest upright rectangle of the patch's own shape, lying or standing, that the turned patch holds. */
function uprightInside(pose: PatchPose, { x, y, width, height }: Box): Rect {
	const middle = { x: x + width / 2, y: y + height / 2 };
	const turn = (pose.turnedDeg * Math.PI) / 180;
	const [cosine, sine] = [Math.abs(Math.cos(turn)), Math.abs(Math.sin(turn))];
	const sides = sine > cosine ? [height, width] : [width, height];
	const [near, far] = sine > cosine ? [sine, cosine] : [cosine, sine];
	const share = 1 / Math.max(near + (height / width) * far, near + (width / height) * far);
	const [halfX, halfY] = sides.map((side) => (side / 2) * share * pose.pxPerMmAt(middle)) as [number, number];
	const at = pose.toPicture(middle);
	return {
		xPx: Math.ceil(at.x - halfX),
		yPx: Math.ceil(at.y - halfY),
		widthPx: Math.floor(2 * halfX),
		heightPx: Math.floor(2 * halfY),
	};
}

/** Whole pixels of the picture, as they are: a mean between neighbours would hide noise. */
function lightInside(raster: Raster, pose: PatchPose, { x, y, width, height }: Box): RealPlane {
	const pxPerMm = pose.pxPerMmAt({ x: x + width / 2, y: y + height / 2 });
	const across = Math.max(2, Math.floor(width * pxPerMm));
	const down = Math.max(2, Math.floor(height * pxPerMm));
	const plane = createRealPlane(across, down);
	for (let at = 0; at < across * down; at++) {
		const place = pose.toPicture({
			x: x + (((at % across) + 0.5) / across) * width,
			y: y + ((Math.floor(at / across) + 0.5) / down) * height,
		});
		const column = Math.min(raster.widthPx - 1, Math.max(0, Math.round(place.x)));
		const row = Math.min(raster.heightPx - 1, Math.max(0, Math.round(place.y)));
		const from = 4 * (row * raster.widthPx + column);
		plane.data[at] =
			0.2126 * decodeSrgb(raster.rgba[from]!) +
			0.7152 * decodeSrgb(raster.rgba[from + 1]!) +
			0.0722 * decodeSrgb(raster.rgba[from + 2]!);
	}
	return plane;
}
