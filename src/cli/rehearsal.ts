/**
 * One invented kit judged twice beside its known truth: a short leg with real codec, sockets and relay, whose reading is
 * compared with what the relay really did; and a full-length run in virtual time, whose answer is compared with what the
 * kit's stated figures deserve.
 */

import { measureRun } from '../metrics/measureRun.ts';
import type { Metrics } from '../metrics/metric.ts';
import { placeRun } from '../observations/placeRun.ts';
import type { ObservationRecord } from '../observations/records.ts';
import type { Run } from '../observations/run.ts';
import { RunFolder } from '../register/runFolder.ts';
import { runLink } from '../rigs/link/harness.ts';
import { type LinkOptions, type LinkProgress, usualLink } from '../rigs/link/link.ts';
import type { SentFrame } from '../rigs/link/senderMessages.ts';
import type { AirSpec, LossChain } from '../simulation/airSpec.ts';
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
export const LEG_OBSERVED_MS = 9000;
const LEG_WARM_UP_MS = 1500;
const LEG_LOST_AFTER_MS = 2500;
/** Frames for which losses are drawn beforehand: more than a leg can send. */
const LEG_FRAMES = 3000;

/** What a real leg read, and what the relay and the sender say really happened. */
export type Leg = {
	readonly medianMs: number;
	/** k = 2: clock and chance, at the point "decoded". */
	readonly uncertaintyMs: number;
	/** Median of what the relay really added to each picture. */
	readonly relayAddedMs: number;
	readonly lostRead: number;
	readonly droppedTruly: number;
	readonly busyRatio: number | null;
	readonly metrics: Metrics;
};

type LegSpec = { readonly key: string; readonly air: AirSpec; readonly pictureLoss: LossChain | null };

/** A leg's spec for a kit; every picture is a key picture, so that a lost one costs only itself. */
export function legOf(kit: InventedKit): LegSpec {
	return { key: kit.key, ...realLegOf(kit) };
}

/** Runs a real leg. Null when the machine was too busy to get a reading; throws what the rig throws. */
export async function runLeg(leg: LegSpec, onProgress: (step: LinkProgress) => void): Promise<Leg | null> {
	const records: ObservationRecord[] = [];
	const sent: SentFrame[] = [];
	const outcome = await runLink(legOptions(leg), {
		record: (record) => records.push(record),
		evidence: () => {},
		progress: onProgress,
		sent: (frame) => sent.push(frame),
	});
	const run = placeRun(records);
	const metrics = measureRun(atDecoder(run), thresholdsOf(standardCriteria));
	const { freshDelay, frames, harness } = metrics;
	const added = pictureDelays(outcome.relayLog ?? { zeroMs: 0, rows: [] }, sent).map(
		({ addedMs }) => addedMs,
	);
	if (freshDelay.kind !== 'measured' || frames.kind !== 'measured' || added.length === 0) return null;
	return {
		medianMs: freshDelay.medianMs,
		uncertaintyMs: freshDelay.uncertaintyMs,
		relayAddedMs: quantileSorted(sortSamples(added), 0.5),
		lostRead: frames.lost + frames.late,
		droppedTruly: droppedWithin(run, sent),
		busyRatio: harness.kind === 'measured' ? harness.busyMedianRatio : null,
		metrics,
	};
}

/** The same observations without the way to the glass: truth is known at the decoder, so there the reading is compared. */
function atDecoder(run: Run): Run {
	return { ...run, systematics: run.systematics.filter(({ shape }) => shape !== 'oneSided') };
}

function legOptions({ key, air, pictureLoss }: LegSpec): LinkOptions {
	return {
		...usualLink,
		runId: `rehearse-${key}`,
		toolVersion: TOOL_VERSION,
		startedAt: new Date().toISOString(),
		profile: 'demo',
		subject: { kind: 'computer', name: `this computer, WebSocket through ${air.name}`, invented: true },
		observedMs: LEG_OBSERVED_MS,
		warmUpMs: LEG_WARM_UP_MS,
		lostAfterMs: LEG_LOST_AFTER_MS,
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

/** Pictures that the sender says it threw away, among those that the run counts. */
function droppedWithin({ segments }: Run, sent: readonly SentFrame[]): number {
	return sent.filter(
		({ dropped, shownMs }) =>
			dropped && segments.some(({ warmUpUntilMs, endMs }) => shownMs >= warmUpUntilMs && shownMs < endMs),
	).length;
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
