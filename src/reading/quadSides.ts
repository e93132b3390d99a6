/** The sides of a marker's frame: a curve through its edge at sub-pixel places, between two rough corners, and where two of them meet. */
import type { LumaPlane } from '../imaging/planes.ts';
import { leastSquares } from '../statistics/linearSystem.ts';
import type { Point } from './opticalTypes.ts';

/** The straight line through a side's ends, and how its middle is pushed out. */
type Side = {
	readonly xPx: number;
	readonly yPx: number;
	readonly dx: number;
	readonly dy: number;
	readonly bulge: Point;
};

const EDGE_PLACES = 24;

/** The edge between two rough corners, at places along it where the luma across it is half way; null where there is no edge. */
export function fitSide(luma: LumaPlane, from: Point, to: Point): Side | null {
	const length = distance(from, to);
	const [ux, uy] = [(to.xPx - from.xPx) / length, (to.yPx - from.yPx) / length];
	// Outwards, for corners in clockwise order with y down.
	const [nx, ny] = [uy, -ux];
	const reach = Math.max(2.5, length * 0.07);
	const found: [along: number, off: number][] = [];
	for (let i = 0; i < EDGE_PLACES; i++) {
		const along = 0.08 + (0.84 * i) / (EDGE_PLACES - 1);
		const x = from.xPx + ux * along * length;
		const y = from.yPx + uy * along * length;
		const off = edgeOffset(luma, { x, y, nx, ny, reach });
		if (off !== null) found.push([along, off]);
	}
	const curve = fitParabola(found);
	if (curve === null) return null;
	const start = curve.atStart;
	const end = curve.atEnd;
	const [sx, sy] = [from.xPx + nx * start, from.yPx + ny * start];
	const [ex, ey] = [to.xPx + nx * end, to.yPx + ny * end];
	return {
		xPx: sx,
		yPx: sy,
		dx: ex - sx,
		dy: ey - sy,
		bulge: { xPx: nx * curve.height, yPx: ny * curve.height },
	};
}

type Across = {
	readonly x: number;
	readonly y: number;
	readonly nx: number;
	readonly ny: number;
	readonly reach: number;
};

/** Luma across an edge, kept from call to call: thousands a second of film. */
let across = new Float64Array(256);

/** Where luma rises steepest from the dark side to the light one, refined to a part of a step. */
function edgeOffset(luma: LumaPlane, { x, y, nx, ny, reach }: Across): number | null {
	const steps = Math.ceil(reach * 2);
	const count = 2 * steps + 1;
	if (across.length < count) across = new Float64Array(2 * count);
	const values = across;
	for (let i = 0; i < count; i++) {
		const value = sampleLuma(luma, x + (nx * (i - steps)) / 2, y + (ny * (i - steps)) / 2);
		if (value === null) return null;
		values[i] = value;
	}
	let best = 0;
	let steepest = 3;
	for (let i = 1; i < count - 1; i++) {
		const rise = values[i + 1]! - values[i - 1]!;
		if (rise > steepest) {
			steepest = rise;
			best = i;
		}
	}
	if (best === 0) return null;
	const a = values[best]! - values[Math.max(0, best - 2)]!;
	const b = values[best + 1]! - values[best - 1]!;
	const c = values[Math.min(count - 1, best + 2)]! - values[best]!;
	const curvature = a - 2 * b + c;
	const shift = curvature < 0 ? (0.5 * (a - c)) / curvature : 0;
	return (best + Math.max(-1, Math.min(1, shift)) - steps) / 2;
}

/** Least squares of off = p + q along + r 4 along (1 - along), twice, the second time without outliers. */
function fitParabola(
	found: readonly [along: number, off: number][],
): { atStart: number; atEnd: number; height: number } | null {
	let kept = found;
	let [p, q, r] = [0, 0, 0];
	for (let round = 0; round < 3; round++) {
		if (kept.length < EDGE_PLACES / 2) return null;
		[p = 0, q = 0, r = 0] = leastSquares(
			kept.map(([along]) => [1, along, 4 * along * (1 - along)]),
			kept.map(([, off]) => off),
		);
		const offs = found.map(([along, off]) => Math.abs(off - p - q * along - r * 4 * along * (1 - along)));
		const middle = [...offs].sort((a, b) => a - b)[offs.length >> 1]!;
		kept = found.filter((_, i) => offs[i]! <= Math.max(0.35, 3 * middle));
	}
	return { atStart: p, atEnd: p + q, height: r };
}

/** Where the straight lines of two sides cross; null for parallels. */
export function meet(a: Side, b: Side): Point | null {
	const cross = a.dx * b.dy - a.dy * b.dx;
	if (Math.abs(cross) < 1e-9) return null;
	const along = ((b.xPx - a.xPx) * b.dy - (b.yPx - a.yPx) * b.dx) / cross;
	return { xPx: a.xPx + along * a.dx, yPx: a.yPx + along * a.dy };
}

/** Luma between pixel centres (whole coordinates are centres); null outside. */
function sampleLuma({ data, stride, widthPx, heightPx }: LumaPlane, x: number, y: number): number | null {
	const left = Math.floor(x);
	const top = Math.floor(y);
	if (left < 0 || top < 0 || left + 1 >= widthPx || top + 1 >= heightPx) return null;
	const [fx, fy] = [x - left, y - top];
	const at = top * stride + left;
	const upper = data[at]! * (1 - fx) + data[at + 1]! * fx;
	const lower = data[at + stride]! * (1 - fx) + data[at + stride + 1]! * fx;
	return upper * (1 - fy) + lower * fy;
}

export function distance(a: Point, b: Point): number {
	return Math.hypot(a.xPx - b.xPx, a.yPx - b.yPx);
}
