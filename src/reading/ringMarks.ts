/**
 * Finds the ring marks of the printed card in a luma plane: dark pieces by a threshold that follows the light, each tried by its
 * second moments (a ring seen aslant is an ellipse) and by rays: dark on the ring, light inside and outside of it.
 * Our own finder, for flat cards without a code; no tilt beyond about 50 degrees, no ring under 5 px of radius.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import { RING_HOLE_MM, RING_RADIUS_MM } from '../pattern/detailCard.ts';

export type RingMark = {
	readonly xPx: number;
	readonly yPx: number;
	/** Mean of the two half axes. */
	readonly radiusPx: number;
	readonly dotted: boolean;
};

const DARKER_THAN_AROUND = 0.75;
const LEAST_RADIUS_PX = 4.5;
const LEAST_PIXELS = 40;
const RAYS = 20;
const RAYS_THAT_HOLD = 17;
const MOST_LENGTH = 3;
const HOLE = RING_HOLE_MM / RING_RADIUS_MM;

export function findRingMarks(luma: LumaPlane): RingMark[] {
	const dark = darkPixels(luma);
	return pieces(dark, luma).flatMap((piece) => {
		const mark = ringOf(piece, { dark, luma });
		return mark === null ? [] : [mark];
	});
}

/** 1 where a pixel is clearly darker than the mean of its surroundings, a window of an eighth of the picture. */
function darkPixels({ data, stride, widthPx, heightPx }: LumaPlane): Uint8Array {
	const wide = widthPx + 1;
	const sums = new Float64Array(wide * (heightPx + 1));
	for (let row = 0; row < heightPx; row++) {
		let line = 0;
		for (let column = 0; column < widthPx; column++) {
			line += data[row * stride + column]!;
			sums[(row + 1) * wide + column + 1] = sums[row * wide + column + 1]! + line;
		}
	}
	const reach = Math.max(8, Math.round(Math.min(widthPx, heightPx) / 10));
	const dark = new Uint8Array(widthPx * heightPx);
	for (let row = 0; row < heightPx; row++) {
		const top = Math.max(0, row - reach);
		const bottom = Math.min(heightPx, row + reach + 1);
		for (let column = 0; column < widthPx; column++) {
			const left = Math.max(0, column - reach);
			const right = Math.min(widthPx, column + reach + 1);
			const sum =
				sums[bottom * wide + right]! -
				sums[top * wide + right]! -
				sums[bottom * wide + left]! +
				sums[top * wide + left]!;
			const mean = sum / ((bottom - top) * (right - left));
			if (data[row * stride + column]! < DARKER_THAN_AROUND * mean) dark[row * widthPx + column] = 1;
		}
	}
	return dark;
}

type Piece = {
	readonly count: number;
	readonly x: number;
	readonly y: number;
	readonly xx: number;
	readonly xy: number;
	readonly yy: number;
};

/** Connected dark pieces (four neighbours) by flood fill, with first and second moments. */
function pieces(dark: Uint8Array, { widthPx, heightPx }: LumaPlane): Piece[] {
	const done = new Uint8Array(dark.length);
	const stack: number[] = [];
	const found: Piece[] = [];
	for (let start = 0; start < dark.length; start++) {
		if (dark[start] === 0 || done[start] === 1) continue;
		let count = 0;
		let [x, y, xx, xy, yy] = [0, 0, 0, 0, 0];
		done[start] = 1;
		stack.push(start);
		for (let at = stack.pop(); at !== undefined; at = stack.pop()) {
			const column = at % widthPx;
			const row = (at - column) / widthPx;
			count++;
			x += column;
			y += row;
			xx += column * column;
			xy += column * row;
			yy += row * row;
			for (const [near, isNear] of [
				[at - 1, column > 0],
				[at + 1, column < widthPx - 1],
				[at - widthPx, row > 0],
				[at + widthPx, row < heightPx - 1],
			] as const)
				if (isNear && dark[near] === 1 && done[near] === 0) {
					done[near] = 1;
					stack.push(near);
				}
		}
		if (count < LEAST_PIXELS) continue;
		const [mx, my] = [x / count, y / count];
		found.push({
			count,
			x: mx,
			y: my,
			xx: xx / count - mx * mx,
			xy: xy / count - mx * my,
			yy: yy / count - my * my,
		});
	}
	return found;
}

type Seen = { readonly dark: Uint8Array; readonly luma: LumaPlane };

function ringOf(piece: Piece, { dark, luma }: Seen): RingMark | null {
	const { long, short, angle } = halfAxes(piece);
	if (short < LEAST_RADIUS_PX || long > MOST_LENGTH * short) return null;
	const expected = Math.PI * long * short * (1 - HOLE * HOLE);
	if (piece.count < 0.75 * expected || piece.count > 1.25 * expected) return null;
	const isDark = (share: number, ray: number): boolean => {
		const turn = (2 * Math.PI * ray) / RAYS;
		const u = share * long * Math.cos(turn);
		const v = share * short * Math.sin(turn);
		const column = Math.round(piece.x + u * Math.cos(angle) - v * Math.sin(angle));
		const row = Math.round(piece.y + u * Math.sin(angle) + v * Math.cos(angle));
		if (column < 0 || row < 0 || column >= luma.widthPx || row >= luma.heightPx) return true;
		return dark[row * luma.widthPx + column] === 1;
	};
	let onRing = 0;
	let clearOutside = 0;
	let clearInside = 0;
	for (let ray = 0; ray < RAYS; ray++) {
		if (isDark((1 + HOLE) / 2, ray)) onRing++;
		if (!isDark(1.22, ray)) clearOutside++;
		if (!isDark(0.34, ray)) clearInside++;
	}
	if (Math.min(onRing, clearOutside, clearInside) < RAYS_THAT_HOLD) return null;
	const { x, y } = weightedCentre(piece, luma, long);
	return { xPx: x, yPx: y, radiusPx: Math.sqrt(long * short), dotted: isDarkSpot(piece, luma, short) };
}

/** Weighted by darkness over a disc round the ring, so that half-covered pixels count by half. */
function weightedCentre({ x, y }: Piece, { data, stride, widthPx, heightPx }: LumaPlane, long: number) {
	const reach = Math.ceil(1.2 * long);
	const inside: { readonly column: number; readonly row: number; readonly code: number }[] = [];
	for (
		let row = Math.max(0, Math.round(y) - reach);
		row <= Math.min(heightPx - 1, Math.round(y) + reach);
		row++
	)
		for (
			let column = Math.max(0, Math.round(x) - reach);
			column <= Math.min(widthPx - 1, Math.round(x) + reach);
			column++
		)
			if (Math.hypot(column - x, row - y) <= reach)
				inside.push({ column, row, code: data[row * stride + column]! });
	const paper = inside.reduce((most, { code }) => Math.max(most, code), 0);
	let [weights, sumX, sumY] = [0, 0, 0];
	for (const { column, row, code } of inside) {
		const weight = Math.max(0, PAPER_SLACK * paper - code);
		weights += weight;
		sumX += weight * column;
		sumY += weight * row;
	}
	return weights === 0 ? { x, y } : { x: sumX / weights, y: sumY / weights };
}
/** Shading and grain of the paper are no ring. */
const PAPER_SLACK = 0.85;

/** Of the whole ellipse, from the moments of a ring with a hole of that share: variance (1 + h^2) R^2 / 4. */
function halfAxes({ xx, xy, yy }: Piece): { long: number; short: number; angle: number } {
	const middle = (xx + yy) / 2;
	const away = Math.hypot((xx - yy) / 2, xy);
	const scale = 4 / (1 + HOLE * HOLE);
	return {
		long: Math.sqrt(scale * (middle + away)),
		short: Math.sqrt(scale * Math.max(0, middle - away)),
		angle: 0.5 * Math.atan2(2 * xy, xx - yy),
	};
}

/** Whether the middle of the hole is nearer to the ring's own darkness than to the hole's light. */
function isDarkSpot({ x, y }: Piece, { data, stride }: LumaPlane, radiusPx: number): boolean {
	const meanAround = (share: number): number => {
		let sum = 0;
		for (let ray = 0; ray < RAYS; ray++) {
			const turn = (2 * Math.PI * ray) / RAYS;
			const column = Math.round(x + share * radiusPx * Math.cos(turn));
			const row = Math.round(y + share * radiusPx * Math.sin(turn));
			sum += data[row * stride + column] ?? 255;
		}
		return sum / RAYS;
	};
	return meanAround(0.06) < (meanAround(0.36) + meanAround(0.75)) / 2;
}
