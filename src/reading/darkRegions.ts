/**
 * Outlines of what is darker than its surroundings: a pixel is dark when it lies below the mean of the square window about it (by an
 * integral image), dark pixels that touch are one region, and a region's outer border is followed once round.
 *
 * Small and very long regions are left out; what a marker's frame is, the caller decides.
 */
import type { LumaPlane } from '../imaging/planes.ts';

/** Pixel centres of a border, clockwise in the picture; x and y one after the other. */
export type Outline = { readonly points: Int32Array; readonly widthPx: number; readonly heightPx: number };

export type DarkPlan = {
	/** Half the window's side. */
	readonly reachPx: number;
	/** Codes below the mean from which a pixel is dark. */
	readonly margin: number;
	/** Least side of a region's box. */
	readonly leastPx: number;
	/** Of the same picture, by `lumaSums`: one for all windows. */
	readonly sums: Int32Array;
};

/** Steps to the eight neighbours, clockwise from right. */
const STEPS_X = [1, 1, 0, -1, -1, -1, 0, 1];
const STEPS_Y = [0, 1, 1, 1, 0, -1, -1, -1];
const MOST_ASPECT = 6;

export function darkOutlines(luma: LumaPlane, plan: DarkPlan): Outline[] {
	const width = luma.widthPx + 2;
	const mask = darkMask(luma, plan);
	const outlines: Outline[] = [];
	// 1: dark, not yet seen; 2: its region is done.
	const stack: number[] = [];
	for (let start = width; start < mask.length - width; start++) {
		if (mask[start] !== 1) continue;
		const box = fill(mask, { start, width, stack });
		const [boxWidth, boxHeight] = [box.right - box.left + 1, box.bottom - box.top + 1];
		if (Math.min(boxWidth, boxHeight) < plan.leastPx) continue;
		if (Math.max(boxWidth, boxHeight) > MOST_ASPECT * Math.min(boxWidth, boxHeight)) continue;
		outlines.push({ points: follow(mask, start, width), widthPx: boxWidth, heightPx: boxHeight });
	}
	return outlines;
}

/** 1 where dark; one pixel of margin all round, so that no border leaves the array. */
function darkMask(
	{ data, stride, widthPx, heightPx }: LumaPlane,
	{ reachPx, margin, sums }: DarkPlan,
): Uint8Array {
	const across = widthPx + 1;
	const mask = new Uint8Array((widthPx + 2) * (heightPx + 2));
	for (let y = 0; y < heightPx; y++) {
		const top = Math.max(0, y - reachPx);
		const bottom = Math.min(heightPx, y + reachPx + 1);
		const upper = top * across;
		const lower = bottom * across;
		for (let x = 0; x < widthPx; x++) {
			const left = x > reachPx ? x - reachPx : 0;
			const right = x + reachPx + 1 < widthPx ? x + reachPx + 1 : widthPx;
			const sum =
				(sums[lower + right]! - sums[lower + left]! - sums[upper + right]! + sums[upper + left]!) | 0;
			const area = (right - left) * (bottom - top);
			if ((data[y * stride + x]! + margin) * area < sum) mask[(y + 1) * (widthPx + 2) + x + 1] = 1;
		}
	}
	return mask;
}

/** Sums of all pixels above and to the left, modulo 2^32: differences over a window are right whatever the picture's size. */
export function lumaSums({ data, stride, widthPx, heightPx }: LumaPlane): Int32Array {
	const across = widthPx + 1;
	const sums = new Int32Array(across * (heightPx + 1));
	for (let y = 0; y < heightPx; y++) {
		let row = 0;
		const from = (y + 1) * across + 1;
		for (let x = 0; x < widthPx; x++) {
			row += data[y * stride + x]!;
			sums[from + x] = (sums[from + x - across]! + row) | 0;
		}
	}
	return sums;
}

type Fill = { readonly start: number; readonly width: number; readonly stack: number[] };

function fill(mask: Uint8Array, { start, width, stack }: Fill) {
	const box = { left: width, right: 0, top: Number.MAX_SAFE_INTEGER, bottom: 0 };
	stack.push(start);
	mask[start] = 2;
	while (stack.length > 0) {
		const at = stack.pop()!;
		const y = Math.floor(at / width);
		const x = at - y * width;
		if (x < box.left) box.left = x;
		if (x > box.right) box.right = x;
		if (y < box.top) box.top = y;
		if (y > box.bottom) box.bottom = y;
		for (let step = 0; step < 8; step++) {
			const next = at + STEPS_X[step]! + STEPS_Y[step]! * width;
			if (mask[next] === 1) {
				mask[next] = 2;
				stack.push(next);
			}
		}
	}
	return box;
}

/** Moore's border following from the region's first pixel in reading order: its upper left has nothing dark above or before it. */
function follow(mask: Uint8Array, start: number, width: number): Int32Array {
	const points: number[] = [];
	let at = start;
	let heading = 0;
	const most = mask.length;
	do {
		const y = Math.floor(at / width);
		points.push(at - y * width - 1, y - 1);
		// From the neighbour after the one we came from, clockwise.
		let turn = 0;
		let direction = (heading + 5) & 7;
		while (turn < 8 && mask[at + STEPS_X[direction]! + STEPS_Y[direction]! * width] !== 2) {
			direction = (direction + 1) & 7;
			turn++;
		}
		if (turn === 8) break;
		at += STEPS_X[direction]! + STEPS_Y[direction]! * width;
		heading = direction;
	} while (at !== start && points.length < most);
	return Int32Array.from(points);
}
