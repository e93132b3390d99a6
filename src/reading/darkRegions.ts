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
	const end = mask.length - width;
	for (let start = mask.indexOf(1, width); start >= 0 && start < end; start = mask.indexOf(1, start + 1)) {
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
		const height = bottom - top;
		const row = y * stride;
		const out = (y + 1) * (widthPx + 2) + 1;
		// Inside, the window's width is the same for all: most of the time goes here.
		const insideFrom = Math.min(widthPx, reachPx);
		const insideUntil = Math.max(insideFrom, widthPx - reachPx);
		const area = (2 * reachPx + 1) * height;
		for (let x = insideFrom; x < insideUntil; x++) {
			const [left, right] = [x - reachPx, x + reachPx + 1];
			const sum =
				(sums[lower + right]! - sums[lower + left]! - sums[upper + right]! + sums[upper + left]!) | 0;
			if ((data[row + x]! + margin) * area < sum) mask[out + x] = 1;
		}
		for (let x = 0; x < widthPx; x = x + 1 === insideFrom ? insideUntil : x + 1) {
			const left = Math.max(0, x - reachPx);
			const right = Math.min(widthPx, x + reachPx + 1);
			const sum =
				(sums[lower + right]! - sums[lower + left]! - sums[upper + right]! + sums[upper + left]!) | 0;
			if ((data[row + x]! + margin) * (right - left) * height < sum) mask[out + x] = 1;
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

/** Row by row: a run of dark pixels at once, then where it touches runs above and below, corners too. */
function fill(mask: Uint8Array, { start, width, stack }: Fill) {
	const box = { left: width, right: 0, top: Number.MAX_SAFE_INTEGER, bottom: 0 };
	stack.push(start);
	while (stack.length > 0) {
		const at = stack.pop()!;
		if (mask[at] !== 1) continue;
		let first = at;
		while (mask[first - 1] === 1) first--;
		let last = at;
		while (mask[last + 1] === 1) last++;
		mask.fill(2, first, last + 1);
		const y = Math.floor(at / width);
		box.left = Math.min(box.left, first - y * width);
		box.right = Math.max(box.right, last - y * width);
		box.top = Math.min(box.top, y);
		box.bottom = Math.max(box.bottom, y);
		pushRuns(mask, stack, { from: first - 1 - width, until: last + 1 - width });
		pushRuns(mask, stack, { from: first - 1 + width, until: last + 1 + width });
	}
	return box;
}

/** One pixel of each run of dark ones that lies in a row from `from` to `until`. */
function pushRuns(
	mask: Uint8Array,
	stack: number[],
	{ from, until }: { readonly from: number; readonly until: number },
): void {
	let before = 0;
	for (let at = from; at <= until; at++) {
		const code = mask[at]!;
		if (code === 1 && before !== 1) stack.push(at);
		before = code;
	}
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
