import { expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import type { Metric } from '../../src/metrics/metric.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import { airPresets } from '../../src/simulation/airPresets.ts';
import type { AirSpec } from '../../src/simulation/airSpec.ts';
import { type InventedKit, inventedKits, kitRunSpec } from '../../src/simulation/inventedKits.ts';
import { simulateLinkRun } from '../../src/simulation/virtualLink.ts';
import { truthOf } from '../../src/simulation/virtualTruth.ts';
import { standardThresholds } from './madeRun.ts';

function measured<T>(metric: Metric<T>): T {
	if (metric.kind === 'notMeasured') throw new Error(metric.explanation);
	return metric;
}

const first = inventedKits[0]!;
const throughAir = ([name, { spec }]: [string, { spec: AirSpec }]): [string, InventedKit] => [
	`${first.name} through ${name}`,
	{ ...first, air: spec },
];
const links: [string, InventedKit][] = [
	...inventedKits.map((kit): [string, InventedKit] => [kit.name, kit]),
	...[...airPresets].map(throughAir),
];

/**
 * Truth is looked at every millisecond, by brute force: quantiles good to half of one. Only the few ms of content at the
 * end of warm-up are cut in another way.
 */
test.each(links)(
	'%s: delay, age, ledger and longest gap agree with the truth of every millisecond',
	(_, kit) => {
		const spec = kitRunSpec(kit, {
			profile: 'brief',
			observedMs: 120_000,
			seed: 77,
			runId: 'known-truth',
			toolVersion: '0.0.0',
			startedAt: '2026-01-01T00:00:00Z',
		});
		const truth = truthOf(spec, standardThresholds);
		const metrics = measureRun(placeRun(simulateLinkRun(spec)), standardThresholds);
		const delay = measured(metrics.freshDelay);
		expect(Math.abs(delay.meanMs - truth.meanFreshDelayMs)).toBeLessThan(0.2);
		expect(Math.abs(delay.medianMs! - truth.medianFreshDelayMs)).toBeLessThan(0.6);
		expect(Math.abs(delay.p95Ms! - truth.p95FreshDelayMs)).toBeLessThan(1.1);
		expect(Math.abs(delay.overLimit.shareRatio - truth.delayOverLimitRatio)).toBeLessThan(0.001);
		const age = measured(metrics.pictureAge);
		expect(Math.abs(age.meanMs - truth.meanAgeMs)).toBeLessThan(0.2);
		expect(Math.abs(age.p95Ms! - truth.p95AgeMs)).toBeLessThan(1.1);
		expect(Math.abs(age.shareOverLimitRatio - truth.ageOverLimitRatio)).toBeLessThan(0.001);
		expect(measured(metrics.frames)).toMatchObject({ sent: truth.sent, ...truth.fates });
		expect(measured(metrics.gaps).longestMs).toBeCloseTo(truth.longestHoldMs, 2);
	},
);
