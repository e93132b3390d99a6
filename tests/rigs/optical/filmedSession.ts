/** Whole sessions of invented kits as signals, judged by the path that every run takes after its observations. */
import { measureRun } from '../../../src/metrics/measureRun.ts';
import { placeRun } from '../../../src/observations/placeRun.ts';
import { measureClip } from '../../../src/reading/measureClip.ts';
import type { ClipReading } from '../../../src/reading/opticalTypes.ts';
import type { OpticalClip, UnreadClip } from '../../../src/rigs/optical/opticalClip.ts';
import { type OpticalRun, opticalRecords } from '../../../src/rigs/optical/opticalRecords.ts';
import type { OpticalSpec } from '../../../src/simulation/opticalSpec.ts';
import { standardCriteria, thresholdsOf } from '../../../src/verdict/criteria.ts';
import { judgeRun } from '../../../src/verdict/judgeRun.ts';
import { madeClip, madeSpec } from '../../reading/madeClip.ts';

export const goodLink = {
	...{ delayMs: 60, jitterMs: 5, lateRatio: 0.01, lateMs: 30, dropRatio: 0.01, freezes: [] },
} satisfies OpticalSpec['link'];

type Change = (reading: ClipReading, spec: OpticalSpec) => ClipReading;

export function filmed(
	phoneHz: number,
	seed: number,
	{
		link = goodLink,
		durationMs = phoneHz >= 100 ? 22_000 : 312_000,
		change = (reading) => reading,
		mode = 'drift',
		scopeJitterMs = 0,
	}: {
		link?: OpticalSpec['link'];
		durationMs?: number;
		change?: Change;
		/** `lock`: the clocks in exact step. */
		mode?: 'drift' | 'lock';
		/** Of each picture's own time, standard deviation. */
		scopeJitterMs?: number;
	} = {},
): OpticalClip {
	const plain = madeSpec([60, 30, phoneHz], seed, { link, durationMs, mode });
	const spec = { ...plain, scope: { ...plain.scope, jitterMs: scopeJitterMs } };
	const measured = measureClip(change(madeClip(spec), spec));
	if (measured.kind !== 'measured') throw new Error(`${measured.reason}: ${measured.explanation}`);
	return { kind: 'clip', name: `clip-${seed}.mp4`, transfer: 'usual', measured, notes: [] };
}

export function judgeFilmed(
	clips: readonly OpticalClip[],
	{ unread = [], ...over }: Partial<OpticalRun> & { unread?: readonly UnreadClip[] } = {},
) {
	const records = opticalRecords({
		...{ runId: 'optical', toolVersion: '0', startedAt: '2026-01-01T00:00:00Z', kit: 'the invented kit' },
		...{
			place: null,
			invented: false,
			profile: 'verdict',
			turnedAsMeant: false,
			card: null,
			light: null,
			clips,
			unread,
			...over,
		},
	});
	const metrics = measureRun(placeRun(records), thresholdsOf(standardCriteria));
	return { metrics, records, ...judgeRun(metrics, standardCriteria) };
}
