import { expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';
import { judgeRun } from '../../src/verdict/judgeRun.ts';
import { madeRun, standardThresholds, steadyFrames } from './madeRun.ts';

/** A recording of two minutes in which nothing is missing; `found`: events that its reader told. */
function recorded(...found: readonly string[]) {
	const run = madeRun({
		frames: steadyFrames(3000, () => 0),
		header: {
			rig: 'recording',
			profile: 'file',
			subject: { kind: 'recording', name: 'a file', invented: false },
			measuringPoints: { source: 'file', viewer: 'file' },
		},
		events: found.map((code) => ({ segment: 0, atMs: 1000, code, frameNumber: null, detail: 'as it was' })),
	});
	return measureRun(run, standardThresholds);
}

test('a file whose pictures keep no rate of their own has no count of lost ones, and the line stays open', () => {
	expect(recorded().frames).toMatchObject({ kind: 'measured', lost: 0 });
	const unsteady = recorded('cadenceUnstable');
	expect(unsteady.frames).toMatchObject({ kind: 'notMeasured', reason: 'cadenceUnstable' });
	const lostLine = (metrics: ReturnType<typeof recorded>) =>
		judgeRun(metrics, standardCriteria).lines.find(({ id }) => id === 'lost-record')?.state;
	expect(lostLine(recorded())).toBe('met');
	expect(lostLine(unsteady)).not.toBe('met');
});

test('cuts are counted, and of a file that was not closed nobody knows how many there are', () => {
	expect(recorded('cut', 'cut').freezes).toMatchObject({ cuts: 2 });
	expect(recorded('cut', 'notClosed').freezes).toMatchObject({ cuts: null });
});

test('what a file’s reader found is told once by name with what to do, and how often', () => {
	const warned = recorded('cut', 'cut', 'damagedFrames').warnings.map(({ code, seen }) => [code, seen]);
	expect(warned).toEqual([
		['damagedFrames', 'As it was.'],
		['cut', 'As it was (and 1 more like it).'],
	]);
});
