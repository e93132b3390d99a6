/**
 * A real bottleneck: the kernel's token bucket between this namespace and another one in which the viewer runs. Needs root, `ip` and
 * `tc`; skipped, with its reason in the name, where the machine does not allow it.
 */
import { type ChildProcess, execFileSync, fork } from 'node:child_process';
import { createRequire } from 'node:module';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';
import { placeRun } from '../../src/observations/placeRun.ts';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { runLink } from '../../src/rigs/link/harness.ts';
import { usualLink } from '../../src/rigs/link/link.ts';
import type { SentFrame } from '../../src/rigs/link/senderMessages.ts';

const SPACE = `steerworthy-${process.pid}`;
const [OURS, THEIRS] = [`sw${process.pid % 1e5}a`, `sw${process.pid % 1e5}b`];
const [HERE, THERE] = ['10.231.77.1', '10.231.77.2'];
const RATE_KBPS = 3000;
const BURST_BYTES = 5000;

/** Null where it stands; else why it cannot. */
function openBottleneck(): string | null {
	try {
		ip('netns', 'add', SPACE);
		ip('link', 'add', OURS, 'type', 'veth', 'peer', 'name', THEIRS, 'netns', SPACE);
		ip('addr', 'add', `${HERE}/30`, 'dev', OURS);
		ip('link', 'set', OURS, 'up');
		ip('-n', SPACE, 'addr', 'add', `${THERE}/30`, 'dev', THEIRS);
		ip('-n', SPACE, 'link', 'set', THEIRS, 'up');
		const bucket = ['tbf', 'rate', `${RATE_KBPS}kbit`, 'burst', String(BURST_BYTES), 'latency', '2000ms'];
		execFileSync('tc', ['qdisc', 'add', 'dev', OURS, 'root', ...bucket], { stdio: 'pipe' });
		return null;
	} catch (failure) {
		return String(failure instanceof Error ? failure.message : failure).split('\n')[0] ?? 'not known why';
	}
}

function ip(...words: string[]): void {
	execFileSync('ip', words, { stdio: 'pipe' });
}

const whyNot = openBottleneck();
const title = whyNot === null ? 'through a token bucket' : `through a token bucket: skipped, ${whyNot}`;

describe.skipIf(whyNot !== null)(title, () => {
	let viewer: ChildProcess | null = null;
	afterAll(() => {
		viewer?.kill('SIGKILL');
		execFileSync('ip', ['netns', 'del', SPACE], { stdio: 'pipe' });
	});

	function startViewer(controlPort: number): void {
		const tsx = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
		viewer = fork(resolve(import.meta.dirname, '../../src/rigs/link/headlessProcess.ts'), [], {
			execPath: 'ip',
			execArgv: ['netns', 'exec', SPACE, process.execPath, '--import', tsx],
			stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
		});
		viewer.send({ type: 'view', host: HERE, controlPort, seed: 1, clockAheadMs: 5000 });
	}

	test('no picture comes sooner than the bucket lets its bytes through, and all together no faster than its rate', async () => {
		const records: ObservationRecord[] = [];
		const sent = new Map<number, SentFrame>();
		const outcome = await runLink(
			{
				...usualLink,
				...{ runId: 'bucket', toolVersion: '0', startedAt: '', profile: 'demo', observedMs: 6000 },
				...{ host: HERE, viewer: 'external', rateHz: 15, bitrateKbps: 1500, keyEveryFrames: 15 },
				subject: { kind: 'computer', name: 'this computer', invented: false },
			},
			{
				record: (record) => records.push(record),
				evidence: () => {},
				progress: (progress) => {
					if (progress.stage === 'waitingForViewer') startViewer(Number(new URL(progress.url).port));
				},
				sent: (frame) => sent.set(frame.frameNumber, frame),
			},
		);
		expect(outcome.reason).toBe('runEnd');
		const run = placeRun(records);
		const clockMs = run.segments[0]?.clock?.boundMs ?? 0;
		let slowest = 0;
		let bytes = 0;
		for (const { frameNumber, shownMs, decodedMs } of run.frames) {
			const size = sent.get(frameNumber)?.byteCount ?? 0;
			if (decodedMs === null || size === 0) continue;
			bytes += size;
			const leastMs = (8 * (size - BURST_BYTES)) / RATE_KBPS;
			slowest = Math.max(slowest, leastMs);
			expect(decodedMs - shownMs + clockMs, `picture ${frameNumber} of ${size} bytes`).toBeGreaterThan(
				leastMs,
			);
		}
		// The key pictures are what the bucket holds back: without one this test would hold nothing.
		expect(slowest).toBeGreaterThan(20);
		const [segment] = run.segments;
		const observedMs = segment!.endMs - segment!.startMs;
		expect((8 * bytes) / observedMs).toBeLessThan(RATE_KBPS);
	}, 60_000);
});
