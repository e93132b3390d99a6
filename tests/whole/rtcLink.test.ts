/** A whole run over real WebRTC, sender and reader in processes of their own, an air in the relay between. */
import { expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { formatRecord, parseRecord } from '../../src/observations/recordText.ts';
import { runLink } from '../../src/rigs/link/harness.ts';
import { usualLink } from '../../src/rigs/link/link.ts';
import { stillAir } from '../../src/simulation/airSpec.ts';
import { standardCriteria, thresholdsOf } from '../../src/verdict/criteria.ts';

test('over WebRTC through an outage every frame is in one class, and the codes agree with what the decoder counted', async () => {
	const records: ObservationRecord[] = [];
	const outages = { scheduled: [{ atMs: 9000, lengthMs: 700 }], random: null, packets: 'dropped' } as const;
	const { udpRelayLog, reason } = await runLink(
		{
			...usualLink,
			runId: 'test',
			toolVersion: '0.0.0',
			startedAt: '2026-01-01T00:00:00Z',
			profile: 'demo',
			subject: { kind: 'computer', name: 'this computer', invented: false },
			observedMs: 6000,
			warmUpMs: 300,
			lostAfterMs: 2000,
			rateHz: 15,
			bitrateKbps: 1500,
			webrtc: { codec: 'VP8', pinned: false },
			air: { spec: { ...stillAir, name: 'outage', delayMs: 10, outages }, seed: 2 },
		},
		{
			record: (record) => {
				const read = parseRecord(formatRecord(record));
				if (read.kind !== 'unknown') records.push(read);
			},
			evidence: () => {},
			progress: () => {},
		},
	);
	expect(reason).toBe('runEnd');
	const run = placeRun(records);
	expect(run.header.path).toMatchObject({
		transport: 'webrtc',
		codec: 'VP8',
		keyEveryFrames: null,
		air: 'outage',
	});
	expect(run.header.measuringPoints.viewer).toBe('decoded');
	const { frames } = measureRun(run, thresholdsOf(standardCriteria));
	if (frames.kind !== 'measured') throw new Error('not measured');
	const { sent, presented, notDrawn, unreadable, overtaken, late, lost } = frames;
	expect(presented + notDrawn + unreadable + overtaken + late + lost).toBe(sent);
	expect(presented).toBeGreaterThan(sent / 2);
	// Only the first segment waited for the buffer, and said so.
	expect(run.events.filter(({ code }) => code.startsWith('buffer'))).toHaveLength(1);
	const lostPackets = udpRelayLog?.rows.filter(([, , , outMs]) => outMs === null) ?? [];
	expect(lostPackets.length).toBeGreaterThan(0);
	const counts = run.streamCounts.filter(({ end }) => end === 'viewer').flatMap(({ rows }) => rows);
	expect(counts.at(-1)?.[2] ?? 0).toBeGreaterThanOrEqual(presented);
	// No frame of the run was seen before it was shown: codes tell when, never the stream's own time stamps.
	for (const { seenMs, shownMs } of run.frames) if (seenMs !== null) expect(seenMs).toBeGreaterThan(shownMs);
});
