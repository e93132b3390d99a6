/** What a radio link and a codec do to a luma plane, seeded: noise, blur, gain, and the coarse steps of an 8 x 8 transform. */
import type { LumaPlane } from '../../src/imaging/planes.ts';

/** Uniform numbers in [0, 1), repeatable (Park and Miller's generator: multiplier 48271, modulus 2^31 - 1). */
export function repeatable(seed: number): () => number {
	let state = (seed % 2147483646) + 1;
	return () => {
		state = (state * 48271) % 2147483647;
		return (state - 1) / 2147483646;
	};
}

/** Sum of twelve uniform numbers less six: near enough to normal, of deviation 1. */
export function addNoise(luma: LumaPlane, deviation: number, random: () => number): LumaPlane {
	return mapped(luma, (code) => {
		let sum = -6;
		for (let draw = 0; draw < 12; draw++) sum += random();
		return code + deviation * sum;
	});
}

export function gainAndOffset(luma: LumaPlane, gain: number, offset: number): LumaPlane {
	return mapped(luma, (code) => code * gain + offset);
}

/** Mean over a square of `2 reach + 1` pixels, edges repeated. */
export function blur(luma: LumaPlane, reach: number): LumaPlane {
	const { widthPx, heightPx, stride, data } = luma;
	return mapped(luma, (_, column, row) => {
		let sum = 0;
		for (let dy = -reach; dy <= reach; dy++)
			for (let dx = -reach; dx <= reach; dx++) {
				const x = Math.min(widthPx - 1, Math.max(0, column + dx));
				const y = Math.min(heightPx - 1, Math.max(0, row + dy));
				sum += data[y * stride + x]!;
			}
		return sum / (2 * reach + 1) ** 2;
	});
}

/** Each 8 x 8 block's cosine transform rounded to steps of `step` codes, the zero frequency to a quarter of it. */
export function coarseBlocks(luma: LumaPlane, step: number): LumaPlane {
	const data = Uint8Array.from(luma.data);
	for (let top = 0; top + 8 <= luma.heightPx; top += 8)
		for (let left = 0; left + 8 <= luma.widthPx; left += 8)
			quantiseBlock(data, { from: top * luma.stride + left, stride: luma.stride, step });
	return { ...luma, data };
}

const cosines = Array.from({ length: 8 }, (_, frequency) =>
	Array.from(
		{ length: 8 },
		(_, place) =>
			Math.cos(((2 * place + 1) * frequency * Math.PI) / 16) * (frequency === 0 ? Math.sqrt(1 / 8) : 0.5),
	),
);

function quantiseBlock(
	data: Uint8Array,
	{ from, stride, step }: { from: number; stride: number; step: number },
): void {
	const pixels = Array.from({ length: 8 }, (_, y) =>
		Array.from({ length: 8 }, (_, x) => data[from + y * stride + x]!),
	);
	const forward = twice(pixels, (row, frequency) =>
		row.reduce((sum, value, place) => sum + value * cosines[frequency]![place]!, 0),
	);
	const coarse = forward.map((row, v) =>
		row.map((value, u) => {
			const width = u + v === 0 ? step / 4 : step;
			return Math.round(value / width) * width;
		}),
	);
	const back = twice(coarse, (row, place) =>
		row.reduce((sum, value, frequency) => sum + value * cosines[frequency]![place]!, 0),
	);
	for (const [y, row] of back.entries())
		for (const [x, value] of row.entries()) data[from + y * stride + x] = clip(value);
}

/** Applies a one-dimensional transform to rows, then to columns. */
function twice(block: readonly number[][], transform: (row: number[], at: number) => number): number[][] {
	const once = (rows: readonly number[][]) => rows.map((row) => row.map((_, at) => transform(row, at)));
	return transposed(once(transposed(once(block))));
}

function transposed(block: readonly number[][]): number[][] {
	return block.map((_, column) => block.map((row) => row[column]!));
}

function mapped(luma: LumaPlane, change: (code: number, column: number, row: number) => number): LumaPlane {
	const data = Uint8Array.from(luma.data);
	for (let row = 0; row < luma.heightPx; row++)
		for (let column = 0; column < luma.widthPx; column++) {
			const at = row * luma.stride + column;
			data[at] = clip(change(luma.data[at]!, column, row));
		}
	return { ...luma, data };
}

function clip(code: number): number {
	return Math.min(255, Math.max(0, Math.round(code)));
}
