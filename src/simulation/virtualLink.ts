/**
 * A whole run of an invented link as observations, in virtual time: ten minutes in a second or two, eight hours in a flat
 * memory. Frames are those of `virtualFrames.ts`; patches and pictures are sampled from the stated models.
 */
import type { Rgb } from '../colour/rgb.ts';
import {
	FATES,
	FORMAT,
	type Header,
	type ObservationRecord,
	type PresentationRow,
	VERSION,
} from '../observations/records.ts';
import { createRandom, type Random } from '../statistics/random.ts';
import type { VirtualFrame } from './virtualDisplay.ts';
import { virtualFrames } from './virtualFrames.ts';
import type { ColourModel, LikenessModel, VirtualLinkSpec } from './virtualLinkSpec.ts';
import { createVirtualPings, type VirtualPings } from './virtualPings.ts';

const SEGMENT = 0;
/** Colour, likeness and pings have seeds beside the frames', so that they do not shift the frames' draws. */
const SAMPLES_SEED = 1;
const PINGS_SEED = 2;

/** Records from header to end, in the order in which a rig would write them. The same spec gives the same records. */
export function* simulateLinkRun(spec: VirtualLinkSpec): Generator<ObservationRecord> {
	const endMs = spec.warmUpMs + spec.observedMs;
	const sampler = createSampler(spec);
	const pings =
		spec.viewerClock && createVirtualPings(spec.viewerClock, createRandom(spec.seed + PINGS_SEED));
	const onViewer = pings === null ? (ms: number) => ms : pings.viewerMs;
	const rowsPerRecord = Math.round(spec.source.rateHz);
	let rows: PresentationRow[] = [];
	let pingedUntilMs = 0;

	yield headerOf(spec);
	yield { kind: 'segment', segment: SEGMENT, startMs: 0, warmUpUntilMs: spec.warmUpMs };
	for (const frame of virtualFrames(spec)) {
		rows.push(toRow(frame, onViewer));
		if (rows.length >= rowsPerRecord) {
			yield { kind: 'presentations', segment: SEGMENT, rows };
			rows = [];
		}
		for (; pings !== null && pingedUntilMs < frame.shownMs; ) {
			const burst = pings.nextBurst();
			pingedUntilMs = burst.backByMs;
			yield pingsOf(burst.pings, spec);
		}
		yield* sampler(frame, onViewer);
	}
	if (rows.length > 0) yield { kind: 'presentations', segment: SEGMENT, rows };
	if (pings !== null) yield pingsOf(pings.nextBurst().pings, spec);
	yield { kind: 'segmentEnd', segment: SEGMENT, endMs, reason: 'runEnd' };
	yield { kind: 'end', atMs: endMs, reason: 'completed' };
}

function headerOf(spec: VirtualLinkSpec): Header {
	const { rateHz, widthPx, heightPx } = spec.source;
	return {
		kind: 'header',
		format: FORMAT,
		version: VERSION,
		toolVersion: spec.toolVersion,
		runId: spec.runId,
		rig: 'link',
		subject: spec.subject,
		place: null,
		joined: null,
		profile: spec.profile,
		startedAt: spec.startedAt,
		measuringPoints: { source: 'generated', viewer: spec.display === null ? 'decoded' : 'presented' },
		viewerClock: spec.viewerClock === null ? 'reference' : 'pinged',
		source: { layout: 'link', widthPx, heightPx, rateHz, seed: spec.seed, difficulty: 'easy' },
		path: {
			transport: `simulated ${spec.air.carriage}`,
			codec: 'no codec, only sizes',
			bitrateKbps: (spec.pictureBytes.mean * 8 * rateHz) / 1000,
			keyEveryFrames: 1,
			air: spec.air.name,
		},
		displayPeriodMs: spec.display?.periodMs ?? null,
		lostAfterMs: spec.lostAfterMs,
		systematics: [],
		patches: [...spec.patches],
	};
}

function toRow(frame: VirtualFrame, onViewer: (ms: number) => number): PresentationRow {
	const { frameNumber, dueMs, shownMs, fate, decodedMs, seenMs } = frame;
	return [
		frameNumber,
		dueMs,
		shownMs,
		FATES.indexOf(fate),
		decodedMs === null ? null : onViewer(decodedMs),
		seenMs === null ? null : onViewer(seenMs),
	];
}

function pingsOf(
	samples: ReturnType<VirtualPings['nextBurst']>['pings'],
	spec: VirtualLinkSpec,
): ObservationRecord {
	return {
		kind: 'pings',
		segment: SEGMENT,
		samples: samples.map(([t1, t2, t3, t4]) => [t1, t2, t3, t4]),
		quantumMs: spec.viewerClock?.quantumMs ?? null,
	};
}

/** Samples of the first picture seen after each sampling instant. */
function createSampler(
	spec: VirtualLinkSpec,
): (frame: VirtualFrame, onViewer: (ms: number) => number) => ObservationRecord[] {
	const random = createRandom(spec.seed + SAMPLES_SEED);
	let nextMs = spec.warmUpMs;
	return ({ frameNumber, seenMs }, onViewer) => {
		if (seenMs === null || seenMs < nextMs) return [];
		nextMs = seenMs + spec.sampleEveryMs * (0.5 + random.next());
		const at = { segment: SEGMENT, frameNumber, atMs: onViewer(seenMs) };
		const records: ObservationRecord[] = [];
		if (spec.colour !== null && spec.patches.length > 0) {
			const model = spec.colour;
			const rgb = spec.patches.map((patch) => seenColour(patch.rgb, model, random));
			records.push({ kind: 'patches', ...at, path: 'decoded', rgb });
		}
		if (spec.likeness !== null)
			records.push({ kind: 'picture', ...at, ...seenLikeness(spec.likeness, random) });
		return records;
	};
}

function seenColour(
	drawn: Rgb,
	{ matrix, gain, offset, noiseSd }: ColourModel,
	random: Random,
): [number, number, number] {
	const channel = (i: 0 | 1 | 2): number => {
		const row = matrix?.[i];
		const mixed = row === undefined ? drawn[i] : row[0] * drawn[0] + row[1] * drawn[1] + row[2] * drawn[2];
		return Math.min(255, Math.max(0, gain[i] * mixed + offset[i] + noiseSd * random.normal()));
	};
	return [channel(0), channel(1), channel(2)];
}

function seenLikeness(model: LikenessModel, random: Random) {
	return {
		meanSquaredError: model.medianSquaredError * Math.exp(model.sigma * random.normal()),
		ssim: Math.min(1, model.meanSsim + model.ssimSd * random.normal()),
		ssimVariant: 'stated, not computed',
		mismatchRatio: null,
		evidence: null,
	};
}
