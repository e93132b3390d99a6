import { expect, test } from 'vitest';
import type { LumaPlane } from '../../src/imaging/planes.ts';
import { darkOutlines, lumaSums } from '../../src/reading/darkRegions.ts';
import { createRandom } from '../../src/statistics/random.ts';

/** Blots of dark and light, so that regions of all sizes touch at sides and corners; rows padded. */
function blots(seed: number): LumaPlane {
	const random = createRandom(seed);
	const [widthPx, heightPx, stride] = [61, 47, 64];
	const data = new Uint8Array(stride * heightPx).fill(120);
	for (let i = 0; i < 90; i++) {
		const [x, y, side] = [random.integer(widthPx), random.integer(heightPx), 1 + random.integer(9)];
		const code = random.integer(2) === 0 ? 20 : 220;
		for (let row = y; row < Math.min(heightPx, y + side); row++)
			data.fill(code, row * stride + x, row * stride + Math.min(widthPx, x + side));
	}
	return { data, stride, widthPx, heightPx };
}

const plan = { reachPx: 6, margin: 7, leastPx: 3 };

/** The rule of the header, pixel by pixel. */
function isDark({ data, stride, widthPx, heightPx }: LumaPlane, x: number, y: number): boolean {
	if (x < 0 || y < 0 || x >= widthPx || y >= heightPx) return false;
	let [sum, count] = [0, 0];
	for (let row = Math.max(0, y - plan.reachPx); row <= Math.min(heightPx - 1, y + plan.reachPx); row++)
		for (let at = Math.max(0, x - plan.reachPx); at <= Math.min(widthPx - 1, x + plan.reachPx); at++) {
			sum += data[row * stride + at]!;
			count++;
		}
	return data[y * stride + x]! + plan.margin < sum / count;
}

type Box = { readonly widthPx: number; readonly heightPx: number; readonly pixels: ReadonlySet<string> };

/** Regions of dark pixels that touch at a side or a corner, one pixel after the other. */
function regionsOf(luma: LumaPlane): Box[] {
	const seen = new Set<string>();
	const boxes: Box[] = [];
	for (let y = 0; y < luma.heightPx; y++)
		for (let x = 0; x < luma.widthPx; x++) {
			if (seen.has(`${x},${y}`) || !isDark(luma, x, y)) continue;
			const pixels = new Set<string>();
			const open: [number, number][] = [[x, y]];
			seen.add(`${x},${y}`);
			for (let next = open.pop(); next !== undefined; next = open.pop()) {
				const [atX, atY] = next;
				pixels.add(`${atX},${atY}`);
				for (const [dx, dy] of [-1, 0, 1].flatMap((i) => [-1, 0, 1].map((k) => [i, k] as const))) {
					const key = `${atX + dx},${atY + dy}`;
					if (seen.has(key) || !isDark(luma, atX + dx, atY + dy)) continue;
					seen.add(key);
					open.push([atX + dx, atY + dy]);
				}
			}
			const places = [...pixels].map((key) => key.split(',').map(Number));
			const sideOf = (axis: 0 | 1) =>
				Math.max(...places.map((place) => place[axis]!)) -
				Math.min(...places.map((place) => place[axis]!)) +
				1;
			boxes.push({ widthPx: sideOf(0), heightPx: sideOf(1), pixels });
		}
	return boxes.filter(
		({ widthPx, heightPx }) =>
			Math.min(widthPx, heightPx) >= plan.leastPx &&
			Math.max(widthPx, heightPx) <= 6 * Math.min(widthPx, heightPx),
	);
}

test('dark regions are those that a search pixel by pixel finds, and each outline runs on its own region’s border', () => {
	let regions = 0;
	for (let seed = 1; seed <= 6; seed++) {
		const luma = blots(seed);
		const found = darkOutlines(luma, { ...plan, sums: lumaSums(luma) });
		const expected = regionsOf(luma);
		expect(found.map(({ widthPx, heightPx }) => [widthPx, heightPx])).toEqual(
			expected.map(({ widthPx, heightPx }) => [widthPx, heightPx]),
		);
		for (const [i, { points }] of found.entries())
			for (let at = 0; at < points.length; at += 2)
				expect(expected[i]!.pixels.has(`${points[at]},${points[at + 1]}`)).toBe(true);
		regions += found.length;
	}
	expect(regions).toBeGreaterThan(30);
});
