import { expect, test } from 'vitest';
import { readShare } from '../../src/metrics/shareReading.ts';
import { ShareBounder } from '../../src/statistics/episodeBound.ts';
import { boundWithin } from '../../src/statistics/guardBand.ts';
import { CurveBuilder } from '../../src/statistics/levelCurve.ts';

test('the bound of a share takes the width that the rig would see if it read low', () => {
	const builder = new CurveBuilder(0);
	for (let ms = 0; ms < 600_000; ms += 100) builder.add(100, ms % 5000 < 200 ? 120 : 80);
	const curve = builder.finish();
	const read = (systematicStandardMs: number) =>
		readShare(curve, {
			limit: 130,
			allowedRatio: 0.05,
			shift: { systematicCentreMs: 5, systematicStandardMs },
		});
	const bounder = new ShareBounder(curve, { allowedRatio: 0.05 });
	expect(read(6).upperRatio).toBe(boundWithin(bounder, 125, 1.645 * 6).upperRatio);
	expect(read(6).upperRatio!).toBeGreaterThan(2 * read(0).upperRatio!);
	expect(read(0)).toMatchObject({ shareRatio: 0, centralShareRatio: 0, shareIfReadLowRatio: 0 });
});
