/**
 * The packets of each way through the air, up and down apart, each with its sending and its coming: small probe packets where
 * the run has them, else the pictures themselves as far as the viewer's decoder (encoder and decoder are in those, and over
 * TCP a lost packet is a late one).
 */
import { probePackets } from '../observations/probes.ts';
import type { Run } from '../observations/run.ts';

export type AirWayName = 'toViewer' | 'toBench';

/** Columns in order of sending, of the observed time only. */
export type AirPackets = {
	readonly way: AirWayName;
	readonly carriedBy: 'probes' | 'pictures';
	readonly sequence: Float64Array;
	readonly sentMs: Float64Array;
	/** `Infinity`: lost. */
	readonly delayMs: Float64Array;
};

/** A way that has packets. Its columns are made when they are asked for, so that eight hours need one way's at a time. */
export type AirWaySource = Pick<AirPackets, 'way' | 'carriedBy'> & { readonly gather: () => AirPackets };

export function airWaysOf(run: Run): AirWaySource[] {
	const probed = probedWays(run).map(
		(way): AirWaySource => ({ way, carriedBy: 'probes', gather: () => probesOf(run, way) }),
	);
	if (probed.some(({ way }) => way === 'toViewer')) return probed;
	const pictures = picturesDown(run);
	return pictures.sentMs.length === 0
		? probed
		: [{ way: 'toViewer', carriedBy: 'pictures', gather: () => pictures }, ...probed];
}

/** Ways with a probe in the observed time, in the order of their first. */
function probedWays(run: Run): AirWayName[] {
	const isObserved = observedIn(run);
	const ways = new Set<AirWayName>();
	const all = new Set(run.probes.map(({ way }) => way));
	for (const { way, segment, sentMs } of probePackets(run)) {
		if (isObserved(segment, sentMs)) ways.add(way);
		if (ways.size === all.size) break;
	}
	return [...ways];
}

function probesOf({ probes, segments }: Run, way: AirWayName): AirPackets {
	const isObserved = observedIn({ segments });
	const records = probes.filter((record) => record.way === way);
	const columns = columnsFor(records.reduce((sum, { sentAfterUs }) => sum + sentAfterUs.length, 0));
	let count = 0;
	for (const { segment, sequence, sentMs, receivedMs } of probePackets({ probes: records, segments })) {
		if (!isObserved(segment, sentMs)) continue;
		columns.sequence[count] = sequence;
		columns.sentMs[count] = sentMs;
		columns.delayMs[count++] = receivedMs === null ? Number.POSITIVE_INFINITY : receivedMs - sentMs;
	}
	return { way, carriedBy: 'probes', ...filled(columns, count) };
}

function observedIn({ segments }: Pick<Run, 'segments'>): (segment: number, atMs: number) => boolean {
	const known = new Map(segments.map((segment) => [segment.segment, segment]));
	return (segment, atMs) => {
		const found = known.get(segment);
		return found !== undefined && atMs >= found.warmUpUntilMs && atMs < found.endMs;
	};
}

function picturesDown(run: Run): AirPackets {
	const isObserved = observedIn(run);
	const frames = [...run.frames].filter(({ segment, shownMs }) => isObserved(segment, shownMs));
	frames.sort((a, b) => a.shownMs - b.shownMs);
	const columns = columnsFor(frames.length);
	let count = 0;
	for (const { frameNumber, shownMs, fate, decodedMs } of frames) {
		// A picture that came and was not drawn, without a stamp of its coming, says nothing of the air.
		if (decodedMs === null && fate !== 'lost' && fate !== 'late') continue;
		columns.sequence[count] = frameNumber;
		columns.sentMs[count] = shownMs;
		columns.delayMs[count++] = decodedMs === null ? Number.POSITIVE_INFINITY : decodedMs - shownMs;
	}
	return { way: 'toViewer', carriedBy: 'pictures', ...filled(columns, count) };
}

type Columns = Pick<AirPackets, 'sequence' | 'sentMs' | 'delayMs'>;

function columnsFor(count: number): Columns {
	return {
		sequence: new Float64Array(count),
		sentMs: new Float64Array(count),
		delayMs: new Float64Array(count),
	};
}

function filled({ sequence, sentMs, delayMs }: Columns, count: number): Columns {
	return {
		sequence: sequence.subarray(0, count),
		sentMs: sentMs.subarray(0, count),
		delayMs: delayMs.subarray(0, count),
	};
}
