import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { createRandom } from '../../src/statistics/random.ts';
import { repeatUnevenly } from '../../src/transports/unevenly.ts';

beforeEach(() => {
	vi.useFakeTimers({ now: 0 });
});
afterEach(() => {
	vi.useRealTimers();
});

test('work that comes again and again has no period: half to one and a half of the mean, evenly, until it is stopped', () => {
	const random = createRandom(3);
	const instants: number[] = [];
	const stop = repeatUnevenly(
		1000,
		() => instants.push(Date.now()),
		() => random.next(),
	);
	vi.advanceTimersByTime(2_000_000);
	const spacings = instants.slice(1).map((at, i) => at - (instants[i] ?? 0));
	expect(Math.abs(spacings.length - 2000)).toBeLessThan(60);
	expect(Math.min(...spacings)).toBeGreaterThanOrEqual(499);
	expect(Math.max(...spacings)).toBeLessThanOrEqual(1501);
	for (const fromMs of [500, 750, 1000, 1250]) {
		const share = spacings.filter((ms) => ms >= fromMs && ms < fromMs + 250).length / spacings.length;
		expect(Math.abs(share - 0.25)).toBeLessThan(0.04);
	}
	stop();
	const count = instants.length;
	vi.advanceTimersByTime(100_000);
	expect(instants).toHaveLength(count);
});

test('it stops also from within its own work', () => {
	let count = 0;
	const stop = repeatUnevenly(10, () => {
		count++;
		stop();
	});
	vi.advanceTimersByTime(1000);
	expect(count).toBe(1);
});
