import { expect, test } from 'vitest';
import { batchVariance } from '../../src/statistics/batchMeans.ts';
import { createRandom } from '../../src/statistics/random.ts';

/** Each second a step up or down, cancelling over two; and for each 20 s a smaller step that does not. */
function secondsWithMoods(blocks: number): Float64Array {
	const random = createRandom(12);
	const cells = new Float64Array(20 * blocks);
	for (let block = 0; block < blocks; block++) {
		const mood = random.next() < 0.5 ? -0.25 : 0.25;
		for (let i = 0; i < 20; i++) cells[20 * block + i] = (i % 2 === 0 ? 1 : -1) + mood;
	}
	return cells;
}

function largestOf(blocks: number): number {
	const cells = secondsWithMoods(blocks);
	const layout = { starts: Uint32Array.of(0, cells.length), count: cells.length };
	return batchVariance(cells, layout).largest!;
}

test('what shows only over 20 s is seen where the run holds thirty such batches, and not where it holds fewer', () => {
	// Over a second: (1 + 0.25^2) / cells, or 0.00171 and 0.00183; over 20 s: 0.25^2 / batches, 0.0020 of 31.
	expect(largestOf(31)).toBeGreaterThan(0.0019);
	expect(largestOf(31)).toBeLessThan(0.0022);
	expect(largestOf(29)).toBeLessThan(0.0019);
});
