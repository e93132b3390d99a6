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

export function gatherAirWays(run: Run): AirPackets[] {
	const isObserved = observedIn(run);
	const ways = new Map<AirWayName, { sequence: number[]; sentMs: number[]; delayMs: number[] }>();
	for (const { way, segment, sequence, sentMs, receivedMs } of probePackets(run)) {
		if (!isObserved(segment, sentMs)) continue;
		const columns = ways.get(way) ?? { sequence: [], sentMs: [], delayMs: [] };
		ways.set(way, columns);
		columns.sequence.push(sequence);
		columns.sentMs.push(sentMs);
		columns.delayMs.push(receivedMs === null ? Number.POSITIVE_INFINITY : receivedMs - sentMs);
	}
	const probed = [...ways].map(([way, columns]) => packetsOf(way, 'probes', columns));
	return probed.some(({ way }) => way === 'toViewer') ? probed : [...picturesDown(run), ...probed];
}

function observedIn({ segments }: Run): (segment: number, atMs: number) => boolean {
	const known = new Map(segments.map((segment) => [segment.segment, segment]));
	return (segment, atMs) => {
		const found = known.get(segment);
		return found !== undefined && atMs >= found.warmUpUntilMs && atMs < found.endMs;
	};
}

function picturesDown(run: Run): AirPackets[] {
	const isObserved = observedIn(run);
	const columns = { sequence: [] as number[], sentMs: [] as number[], delayMs: [] as number[] };
	const frames = [...run.frames].filter(({ segment, shownMs }) => isObserved(segment, shownMs));
	frames.sort((a, b) => a.shownMs - b.shownMs);
	for (const { frameNumber, shownMs, fate, decodedMs } of frames) {
		// A picture that came and was not drawn, without a stamp of its coming, says nothing of the air.
		if (decodedMs === null && fate !== 'lost' && fate !== 'late') continue;
		columns.sequence.push(frameNumber);
		columns.sentMs.push(shownMs);
		columns.delayMs.push(decodedMs === null ? Number.POSITIVE_INFINITY : decodedMs - shownMs);
	}
	return columns.sentMs.length === 0 ? [] : [packetsOf('toViewer', 'pictures', columns)];
}

function packetsOf(
	way: AirWayName,
	carriedBy: AirPackets['carriedBy'],
	{ sequence, sentMs, delayMs }: { sequence: number[]; sentMs: number[]; delayMs: number[] },
): AirPackets {
	return {
		way,
		carriedBy,
		sequence: Float64Array.from(sequence),
		sentMs: Float64Array.from(sentMs),
		delayMs: Float64Array.from(delayMs),
	};
}
