/**
 * One invented kit judged twice beside its known truth: a short leg with real codec, sockets and relay, whose readings are
 * compared with what really happened; and a full-length run in virtual time, whose answer is compared with what the kit's
 * stated figures deserve.
 */
import { measureRun } from '../metrics/measureRun.ts';
import { placeRun } from '../observations/placeRun.ts';
import type { ObservationRecord } from '../observations/records.ts';
import type { Run } from '../observations/run.ts';
import { RunFolder } from '../register/runFolder.ts';
import { runLink } from '../rigs/link/harness.ts';
import { type LinkOptions, type LinkProgress, usualLink } from '../rigs/link/link.ts';
import type { SentFrame } from '../rigs/link/senderMessages.ts';
import type { LossChain } from '../simulation/airSpec.ts';
import { type InventedKit, kitRunSpec, realLegOf } from '../simulation/inventedKits.ts';
import { createLossChain } from '../simulation/lossChain.ts';
import { simulateLinkRun } from '../simulation/virtualLink.ts';
import { type Truth, truthOf } from '../simulation/virtualTruth.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { createRandom } from '../statistics/random.ts';
import { pictureDelays } from '../transports/relayLog.ts';
import { standardCriteria, thresholdsOf } from '../verdict/criteria.ts';
import { profileOf } from '../verdict/profiles.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { judgeFolder, writeConclusion } from './conclude.ts';
import { TOOL_VERSION } from './version.ts';

const SEED = 20;
const LEG_OBSERVED_MS = 9000;
const LEG_WARM_UP_MS = 1500;
const LEG_LOST_AFTER_MS = 2500;
/** A picture later than this says that the machine is too busy: others may have missed the wait, and would be lost by it and not by the link. */
const LEG_TOO_LATE_MS = LEG_LOST_AFTER_MS / 2;
/** Frames for which losses are drawn beforehand: more than a leg can send. */
const LEG_FRAMES = 3000;

/** What a real leg read, and what really happened. */
export type Leg = {
	readonly medianMs: number;
	/** The same median by the machine's one true clock, which the reading did not use. */
	readonly trueMedianMs: number;
	/** How far the clock may be out, as the run itself states it. */
	readonly clockBoundMs: number;
	/** Median of what the relay really added to a picture. */
	readonly relayAddedMs: number;
	readonly lostRead: number;
	/** Pictures that the sender says it threw away. */
	readonly droppedTruly: number;
	readonly sent: number;
};

/** Runs a kit's real leg. Null when the machine was too busy for a reading; throws what the rig throws. */
export async function runLeg(
	kit: InventedKit,
	onProgress: (step: LinkProgress) => void,
): Promise<Leg | null> {
	const records: ObservationRecord[] = [];
	const sent: SentFrame[] = [];
	const aheadsMs: number[] = [];
	const outcome = await runLink(legOptions(kit), {
		record: (record) => records.push(record),
		evidence: () => {},
		progress: (step) => {
			if (step.stage === 'viewerStarted') aheadsMs.push(step.clockAheadMs);
			onProgress(step);
		},
		sent: (frame) => sent.push(frame),
	});
	const [aheadMs] = aheadsMs;
	const run = placeRun(records);
	const metrics = measureRun(run, thresholdsOf(standardCriteria));
	const { freshDelay, frames, harness } = metrics;
	const added = pictureDelays(outcome.relayLog ?? { zeroMs: 0, rows: [] }, sent).map(
		({ addedMs }) => addedMs,
	);
	const read = freshDelay.kind === 'measured' && frames.kind === 'measured' && harness.kind === 'measured';
	// A viewer that had to be started again has two clocks, and no one truth.
	if (
		!read ||
		freshDelay.medianMs === null ||
		freshDelay.maxMs > LEG_TOO_LATE_MS ||
		added.length === 0 ||
		aheadMs === undefined ||
		aheadsMs.length > 1
	)
		return null;
	return {
		medianMs: freshDelay.medianMs,
		trueMedianMs: trueMedian(records, run, aheadMs),
		clockBoundMs: harness.clockBoundMs ?? 0,
		relayAddedMs: quantileSorted(sortSamples(added), 0.5),
		lostRead: frames.lost + frames.late,
		droppedTruly: droppedWithin(run, sent),
		sent: frames.sent,
	};
}

function legOptions(kit: InventedKit): LinkOptions {
	const { air, pictureLoss } = realLegOf(kit);
	return {
		...usualLink,
		runId: `rehearse-${kit.key}`,
		toolVersion: TOOL_VERSION,
		startedAt: new Date().toISOString(),
		profile: 'demo',
		subject: { kind: 'computer', name: `this computer, WebSocket through ${air.name}`, invented: true },
		observedMs: LEG_OBSERVED_MS,
		warmUpMs: LEG_WARM_UP_MS,
		lostAfterMs: LEG_LOST_AFTER_MS,
		// Every picture a key picture, so that a lost one costs only itself.
		keyEveryFrames: 1,
		air: { spec: air, seed: SEED },
		drop: pictureLoss === null ? { kind: 'none' } : { kind: 'frames', frameNumbers: drawLosses(pictureLoss) },
		seed: SEED,
	};
}

function drawLosses(chain: LossChain): number[] {
	const isLost = createLossChain(chain, createRandom(SEED));
	return Array.from({ length: LEG_FRAMES }, (_, frame) => frame).filter(() => isLost());
}

/**
 * Straight from the records, past clock fit and metrics: decoded by the viewer's clock, put on the bench's by the known
 * difference. Weighted as fresh delay is, by the content since the picture presented before it.
 */
function trueMedian(records: readonly ObservationRecord[], run: Run, aheadMs: number): number {
	const rows = records
		.flatMap((record) => (record.kind === 'presentations' ? record.rows : []))
		.flatMap(([, , shownMs, , decodedMs, seenMs]) =>
			seenMs === null || decodedMs === null ? [] : [{ shownMs, delayMs: decodedMs - aheadMs - shownMs }],
		);
	const weighted = rows
		.map((row, i) => ({ ...row, weightMs: row.shownMs - (rows[i - 1]?.shownMs ?? row.shownMs) }))
		.filter(({ shownMs }) => isCounted(run, shownMs))
		.sort((x, y) => x.delayMs - y.delayMs);
	const halfMs = weighted.reduce((sum, { weightMs }) => sum + weightMs, 0) / 2;
	let belowMs = 0;
	for (const { delayMs, weightMs } of weighted) {
		belowMs += weightMs;
		if (belowMs >= halfMs) return delayMs;
	}
	throw new RangeError('a leg without a picture has no median');
}

function droppedWithin(run: Run, sent: readonly SentFrame[]): number {
	return sent.filter(({ dropped, shownMs }) => dropped && isCounted(run, shownMs)).length;
}

function isCounted({ segments }: Run, shownMs: number): boolean {
	return segments.some(({ warmUpUntilMs, endMs }) => shownMs >= warmUpUntilMs && shownMs < endMs);
}

export type FullRun = { readonly folder: string; readonly result: ResultDocument; readonly truth: Truth };

/** Runs a kit at full length in virtual time into a run folder and judges it by the path that every run takes. */
export async function runFullLength(
	kit: InventedKit,
	{ root, name }: { root: string; name: string },
): Promise<FullRun> {
	const spec = kitRunSpec(kit, {
		profile: 'verdict',
		observedMs: profileOf('verdict').observedMs,
		seed: SEED,
		runId: name,
		toolVersion: TOOL_VERSION,
		startedAt: new Date().toISOString(),
	});
	const folder = await RunFolder.create(root, name);
	for (const record of simulateLinkRun(spec)) if (!folder.append(record)) await folder.drained();
	await folder.close();
	const conclusion = await judgeFolder(folder.path, standardCriteria);
	await writeConclusion(folder.path, conclusion);
	const { ageLimitMs, delayLimitMs } = thresholdsOf(standardCriteria);
	return {
		folder: folder.path,
		result: conclusion.result,
		truth: truthOf(spec, { ageLimitMs, delayLimitMs }),
	};
}
