import { expect, test } from 'vitest';
import { interarrivalJitter } from '../../src/metrics/interarrivalJitter.ts';
import { jitterExample, jitterSpike } from '../vectors/metricsTiming.ts';

test('the worked example of RFC 3550 comes out step by step', () => {
	const { timestampsMs, arrivalsMs, jitterMs } = jitterExample;
	const transits = arrivalsMs.map((arrival, i) => arrival - timestampsMs[i]!);
	jitterMs.forEach((expected, i) => {
		expect(interarrivalJitter(transits.slice(0, i + 1)).lastMs).toBeCloseTo(expected, 6);
	});
});

test('transit that alternates by 10 ms for ever tends to a jitter of 10, neither 5 nor the standard deviation', () => {
	const transits = Array.from({ length: 1000 }, (_, i) => (i % 2) * 10);
	expect(interarrivalJitter(transits).lastMs).toBeCloseTo(10, 6);
});

test('one spike raises the jitter twice and then fades by 15/16 a picture; the greatest value is kept', () => {
	const spiked = [50, 50, 50 + jitterSpike.spikeMs, 50, 50];
	expect(interarrivalJitter(spiked.slice(0, 3)).lastMs).toBeCloseTo(jitterSpike.jitterMs[0]!, 9);
	expect(interarrivalJitter(spiked.slice(0, 4)).lastMs).toBeCloseTo(jitterSpike.jitterMs[1]!, 9);
	const { lastMs, maxMs } = interarrivalJitter(spiked);
	expect(lastMs).toBeCloseTo((jitterSpike.jitterMs[1]! * 15) / 16, 9);
	expect(maxMs).toBeCloseTo(jitterSpike.jitterMs[1]!, 9);
});
