/**
 * What is left of the link card's moving edges in one picture whose number is known: both sides of each bar by slanted edge, as at rest; how
 * much of the fast bar is seen where earlier pictures had it; and where the pulsing bar stands beside where it was drawn. All are of
 * the card's own pixels and pictures. Through no lens: the card stands unscaled.
 *
 * Ghosts: least squares of the columns' mean luma over the bar as drawn in this picture, in the four before and in the next one. What the next
 * one seems to hold is plain blur, and is taken off. Our own.
 */
import { BT709_LIMITED } from '../colour/yCbCr.ts';
import { findEdgeLine } from '../imaging/edgeLine.ts';
import { measureEdge } from '../imaging/edgeResponse.ts';
import type { LumaPlane } from '../imaging/planes.ts';
import { lightOfLuma } from '../imaging/realPlane.ts';
import type { Rect } from '../imaging/rect.ts';
import type { PictureDetail } from '../observations/pictureDetail.ts';
import type { CardGeometry } from '../pattern/geometry.ts';
import {
	barCover,
	barHeading,
	barSlantPx,
	barTenths,
	barWidthPx,
	type EdgeBand,
	edgeBands,
} from '../pattern/movingEdges.ts';
import { leastSquares } from '../statistics/linearSystem.ts';

type Motion = NonNullable<PictureDetail['motion']>;

/** Rows left out at a band's upper and lower side, where the next band's ground begins. */
const MARGIN_PX = 4;
/** Half of what is looked at across a side, in units of the card. */
const REACH_UNITS = 3;
const EARLIER = 4;
const TENTHS = 10;

export function readLinkMotion(luma: LumaPlane, geometry: CardGeometry, frameNumber: number): Motion {
	const { unitPx } = geometry;
	const looked = edgeBands(geometry).map((band) => ({
		band,
		sides: sidesOf(band, { unitPx, frameNumber }),
	}));
	return {
		edges: looked.flatMap(({ band, sides }) => {
			const { speedPx } = band;
			const turning =
				speedPx !== 0 && barHeading(band, unitPx, { frameNumber, nearPictures: EARLIER }) === null;
			if (speedPx === null || turning) return [];
			return sides.flatMap((rect) => {
				const edge = measureEdge(lightOfLuma(luma, rect, BT709_LIMITED.range));
				if (edge.kind === 'notMeasured') return [];
				return [{ speedPx, mtf50CyPx: edge.mtf50CyPx, riseWidthPx: edge.riseWidthPx }];
			});
		}),
		ghosts: ghostsOf(
			luma,
			looked.map(({ band }) => band),
			{ unitPx, frameNumber },
		),
		pulse: pulseOf(luma, geometry, frameNumber),
	};
}

type At = { readonly unitPx: number; readonly frameNumber: number };

/** Round the left and the right side of the bar, as far as they lie inside the band. */
function sidesOf(band: EdgeBand, { unitPx, frameNumber }: At): Rect[] {
	const { rect } = band;
	const middlePx = barTenths(band, unitPx, frameNumber) / TENTHS + barSlantPx(rect.heightPx / 2);
	const reachPx = REACH_UNITS * unitPx;
	return [middlePx, middlePx + barWidthPx(unitPx)].flatMap((sidePx) => {
		const fromPx = Math.round(sidePx) - reachPx;
		if (fromPx < 0 || fromPx + 2 * reachPx > rect.widthPx) return [];
		return [
			{
				xPx: rect.xPx + fromPx,
				yPx: rect.yPx + MARGIN_PX,
				widthPx: 2 * reachPx,
				heightPx: rect.heightPx - 2 * MARGIN_PX,
			},
		];
	});
}

/** Of the fastest bar, where it has gone one way for long enough. */
function ghostsOf(
	luma: LumaPlane,
	bands: readonly EdgeBand[],
	{ unitPx, frameNumber }: At,
): Motion['ghosts'] {
	const fastest = bands.reduce((a, b) => ((b.speedPx ?? 0) > (a.speedPx ?? 0) ? b : a));
	const { speedPx } = fastest;
	if (speedPx === null || frameNumber < EARLIER) return [];
	if (barHeading(fastest, unitPx, { frameNumber, nearPictures: EARLIER + 1 }) === null) return [];
	const drawn = Array.from({ length: EARLIER + 2 }, (_, back) =>
		coverAcross(fastest, { unitPx, frameNumber: frameNumber + 1 - back }),
	);
	const seen = lumaAcross(luma, fastest.rect);
	const terms = Array.from({ length: seen.length }, (_, column) => [
		1,
		...drawn.map((cover) => cover[column]!),
	]);
	const [, next, own, ...earlier] = leastSquares(terms, seen) as [number, number, number, ...number[]];
	const before = earlier.reduce((sum, share) => sum + share, 0);
	const whole = next + own + before;
	if (!(Math.abs(whole) > 1)) return [];
	return [{ speedPx, earlierRatio: (before - next) / whole }];
}

/** Share of each column that the bar covers as drawn, over the rows looked at. */
function coverAcross(band: EdgeBand, { unitPx, frameNumber }: At): number[] {
	const { rect } = band;
	const left = barTenths(band, unitPx, frameNumber);
	const barPx = barWidthPx(unitPx);
	const rows = rect.heightPx - 2 * MARGIN_PX;
	return Array.from({ length: rect.widthPx }, (_, column) => {
		let covered = 0;
		for (let row = MARGIN_PX; row < MARGIN_PX + rows; row++)
			covered += barCover(left, barPx, { column, row });
		return covered / (TENTHS * rows);
	});
}

function lumaAcross({ data, stride }: LumaPlane, { xPx, yPx, widthPx, heightPx }: Rect): number[] {
	return Array.from({ length: widthPx }, (_, column) => {
		let sum = 0;
		for (let row = yPx + MARGIN_PX; row < yPx + heightPx - MARGIN_PX; row++)
			sum += data[row * stride + xPx + column]!;
		return sum / (heightPx - 2 * MARGIN_PX);
	});
}

/** The mean of both sides, so that a blur to one side does not pass for a movement; null where a side is not found. */
function pulseOf(luma: LumaPlane, geometry: CardGeometry, frameNumber: number): Motion['pulse'] {
	const { unitPx } = geometry;
	const band = edgeBands(geometry).find(({ speedPx }) => speedPx === null);
	if (band === undefined) return null;
	const restTenths = barTenths(band, unitPx, 0);
	const places = sidesOf(band, { unitPx, frameNumber: 0 }).map((rect) => {
		const line = findEdgeLine(lightOfLuma(luma, rect, BT709_LIMITED.range));
		return line === null ? null : rect.xPx + line.columnAt.at((rect.heightPx - 1) / 2);
	});
	const [left, right] = places;
	if (left === undefined || left === null || right === undefined || right === null) return null;
	const middlePx = restTenths / TENTHS + barSlantPx(band.rect.heightPx / 2) + barWidthPx(unitPx) / 2;
	return {
		drawnPx: (barTenths(band, unitPx, frameNumber) - restTenths) / TENTHS,
		seenPx: (left + right) / 2 - band.rect.xPx - middlePx,
	};
}
