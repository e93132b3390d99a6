import { expect, test } from 'vitest';
import { measureOrientation } from '../../src/metrics/orientation.ts';
import { madeRun } from './madeRun.ts';

function runWith(...details: string[]) {
	const events = details.map((detail) => ({
		segment: 0,
		atMs: 0,
		code: 'orientation',
		frameNumber: null,
		detail,
	}));
	return madeRun({ frames: [], events, header: { rig: 'optical' } });
}

test('a mirror image seen once is what the run showed', () => {
	const run = runWith(
		'upright, turned 2 degrees',
		'mirrored, turned -12 degrees',
		'upright, turned 0 degrees',
	);
	expect(measureOrientation(run)).toEqual({
		kind: 'measured',
		shown: 'mirrored',
		turnedDeg: -12,
		asMeant: false,
		count: 3,
	});
});

test('a run that nobody filmed says nothing of orientation', () => {
	expect(measureOrientation(madeRun({ frames: [] }))).toMatchObject({
		kind: 'notMeasured',
		reason: 'notThisRig',
	});
	expect(measureOrientation(runWith('sideways'))).toMatchObject({ kind: 'notMeasured' });
});
