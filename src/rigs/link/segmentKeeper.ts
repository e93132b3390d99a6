/**
 * Writes a link run down as it happens: segments, their ledgers, pings, samples and events, as records in file order.
 *
 * A segment is a stretch in which the viewer was there to look. It begins with the first frame sent to a settled viewer.
 * When the viewer leaves, it ends at the last picture that it reported: what came after, nobody observed. When the viewer
 * is only silent, it ends at the instant at which that was established, and the silence counts as a picture standing
 * still: an air that stops everything must not shorten the observation of itself.
 */
import { type ProbePacket, type ProbeWay, packProbes } from '../../observations/probes.ts';
import type { ObservationRecord, StreamCountsRow } from '../../observations/records.ts';
import type { FromViewer } from '../../protocol/control.ts';
import { roundMs } from '../../transports/monotonic.ts';
import type { Hello } from './controlServer.ts';
import { FrameLedger } from './frameLedger.ts';
import type { Pinger } from './pinger.ts';
import type { SentFrame } from './senderMessages.ts';

/** The news of a frame's sending reaches this process within this time; what is younger may not be known yet. */
export const NEWS_WITHIN_MS = 200;

/** A viewer whose socket is away longer than this is not waited for. */
const SUSPENDED_AT_MOST_MS = 120_000;

/** Records of before the first segment that are kept for it; a viewer that says more has something else in mind. */
const MOST_EARLY = 500;

type Picture = Extract<ObservationRecord, { kind: 'picture' }>;
type Sample = Extract<FromViewer, { type: 'patches' | 'picture' | 'detail' | 'event' }>;

type OpenSegment = {
	readonly segment: number;
	readonly startMs: number;
	readonly warmUpUntilMs: number;
	readonly ledger: FrameLedger;
	readonly pinger: Pinger;
	readonly hello: Hello;
	/** Newest instant at which a picture was in front of the viewer, its own clock; null before the first. */
	lastSeenMs: number | null;
	/** Set when no more frames are taken. */
	endMs: number | null;
	/** Since when the viewer's socket is away; what it saw since may still be told. */
	suspendedMs: number | null;
};

type Observer = { readonly hello: Hello; readonly pinger: Pinger };

export class SegmentKeeper {
	readonly #record: (record: ObservationRecord) => void;
	readonly #options: { readonly warmUpMs: number; readonly lostAfterMs: number };
	#open: OpenSegment | null = null;
	#count = 0;
	#closedMs = 0;
	/** What happened before there was a segment: it is told in the first one, since a record of none would look like damage. */
	#early: Extract<ObservationRecord, { kind: 'event' | 'streamCounts' }>[] = [];
	/** The least like picture so far, held back until it is known whether its evidence comes. */
	#leastLike: Picture | null = null;

	constructor(
		record: (record: ObservationRecord) => void,
		options: { readonly warmUpMs: number; readonly lostAfterMs: number },
	) {
		this.#record = record;
		this.#options = options;
	}

	get isOpen(): boolean {
		return this.#open !== null;
	}

	get segmentCount(): number {
		return this.#count;
	}

	get pendingCount(): number {
		return this.#open?.ledger.pendingCount ?? 0;
	}

	/** Observed time so far: after warm-up, segments added. */
	observedMs(nowMs: number): number {
		return (
			this.#closedMs +
			(this.#open === null ? 0 : observedIn(this.#open, this.#open.endMs ?? this.#open.suspendedMs ?? nowMs))
		);
	}

	isWarm(nowMs: number): boolean {
		return this.#open !== null && nowMs >= this.#open.warmUpUntilMs;
	}

	begin(startMs: number, { hello, pinger }: Observer): void {
		const segment = this.#count++;
		const warmUpUntilMs = startMs + this.#options.warmUpMs;
		const ledger = new FrameLedger({
			lostAfterMs: this.#options.lostAfterMs,
			viewerPoint: hello.viewerPoint,
			aheadMs: () => pinger.aheadMs,
		});
		this.#open = {
			segment,
			startMs,
			warmUpUntilMs,
			ledger,
			pinger,
			hello,
			lastSeenMs: null,
			endMs: null,
			suspendedMs: null,
		};
		this.#record({
			kind: 'segment',
			segment,
			startMs: roundMs(startMs),
			warmUpUntilMs: roundMs(warmUpUntilMs),
		});
		for (const record of this.#early.splice(0)) this.#record(record);
	}

	sent(frame: SentFrame): void {
		this.#open?.ledger.sent(frame);
	}

	seen(rows: Extract<FromViewer, { type: 'seen' }>['rows'], heardMs: number): void {
		const open = this.#open;
		if (open === null) return;
		open.ledger.seen(rows, heardMs);
		for (const [, , receivedMs, decodedMs, presentedMs] of rows) {
			const atMs = presentedMs ?? decodedMs ?? receivedMs;
			open.lastSeenMs = Math.max(open.lastSeenMs ?? atMs, atMs);
		}
	}

	/** What an end of a WebRTC stream counts; the viewer's on its clock. Told before there is a segment, it stands in the first. */
	streamCounts(end: 'sender' | 'viewer', rows: readonly StreamCountsRow[]): void {
		const segment = Math.max(0, this.#count - 1);
		const record = { kind: 'streamCounts' as const, segment, end, rows: [...rows] };
		if (this.#count === 0) this.#early.push(record);
		else this.#record(record);
	}

	/** Probe packets of one way without a gap in their numbers; outside a segment nobody asked for them. */
	probes(way: ProbeWay, packets: readonly ProbePacket[]): void {
		if (this.#open !== null) this.#record(packProbes(packets, { segment: this.#open.segment, way }));
	}

	/** A viewer's sample or event, on its clock. */
	sample(message: Sample): void {
		const open = this.#open;
		if (open === null) {
			this.#keepEarly(message);
			return;
		}
		const { segment } = open;
		if (message.type === 'patches') {
			const { frameNumber, atMs, path, rgb } = message;
			this.#record({ kind: 'patches', segment, frameNumber, atMs, path, rgb });
		} else if (message.type === 'detail') {
			const { type, n: _, ...detail } = message;
			this.#record({ kind: type, segment, ...detail });
		} else if (message.type === 'event') {
			const { atMs, code, frameNumber, detail } = message;
			this.#record({ kind: 'event', segment, atMs, clock: 'viewer', code, frameNumber, detail });
		} else {
			const { type: _, n: __, ...likeness } = message;
			this.#keepLeastLike({ kind: 'picture', segment, ...likeness, mismatchRatio: null, evidence: null });
		}
	}

	/** What a viewer has to say of itself before the first segment, such as how it reads pictures, stands in that segment. */
	#keepEarly(message: Sample): void {
		if (message.type !== 'event' || this.#count > 0 || this.#early.length >= MOST_EARLY) return;
		const { atMs, code, frameNumber, detail } = message;
		this.#early.push({ kind: 'event', segment: 0, atMs, clock: 'viewer', code, frameNumber, detail });
	}

	/** Something that the bench itself noticed. */
	event(event: { atMs: number; code: string; frameNumber?: number | null; detail?: string | null }): void {
		const segment = Math.max(0, this.#count - 1);
		const { atMs, code, frameNumber = null, detail = null } = event;
		const record = { kind: 'event', segment, atMs: roundMs(atMs), code, frameNumber, detail } as const;
		if (this.#count === 0) this.#early.push(record);
		else this.#record(record);
	}

	/** Writes what has settled since the last call. */
	flush(nowMs: number): void {
		const open = this.#open;
		if (open === null) return;
		if (open.suspendedMs === null) open.ledger.expire(nowMs);
		else if (nowMs - open.suspendedMs > SUSPENDED_AT_MOST_MS) this.endSuspended('viewerLeft', nowMs);
		this.#write(open);
	}

	/** The viewer's socket is away. Frames go on being shown, and are lost or seen when it is known what was seen of them. */
	suspend(nowMs: number): void {
		if (this.#open !== null) this.#open.suspendedMs ??= nowMs;
	}

	/** Ends the open segment at the last picture that was told of, if it was suspended. */
	endSuspended(reason: string, nowMs: number): void {
		if (this.#open !== null && this.#open.suspendedMs !== null) this.end(reason, 'unobserved', nowMs);
	}

	/** Frames shown from now on are not part of the run; those on their way still are. */
	stopAccepting(endMs: number): void {
		if (this.#open === null) return;
		this.#open.endMs = endMs;
		this.#open.ledger.stopAccepting(endMs);
	}

	/** Ends the open segment. `unobserved`: the viewer is gone and looked no longer; see the head of this file. */
	end(reason: string, open: 'lost' | 'unobserved', nowMs: number): void {
		const segment = this.#open;
		if (segment === null) return;
		const endMs = segment.endMs ?? (open === 'lost' ? nowMs - NEWS_WITHIN_MS : lastSeen(segment));
		if (open === 'lost') segment.ledger.stopAccepting(endMs);
		segment.ledger.close(open);
		this.#write(segment);
		this.#closedMs += observedIn(segment, endMs);
		this.#open = null;
		this.#record({ kind: 'segmentEnd', segment: segment.segment, endMs: roundMs(endMs), reason });
	}

	/** The frame whose evidence is worth making; null before any sample. */
	get leastLikeFrame(): number | null {
		return this.#leastLike?.frameNumber ?? null;
	}

	/** Writes the held picture, with its evidence where it came. Last of all. */
	closePictures(evidence: { readonly name: string; readonly mismatchRatio: number } | null): void {
		if (this.#leastLike === null) return;
		this.#record({
			...this.#leastLike,
			evidence: evidence?.name ?? null,
			mismatchRatio: evidence?.mismatchRatio ?? null,
		});
		this.#leastLike = null;
	}

	#keepLeastLike(picture: Picture): void {
		const held = this.#leastLike;
		if (held !== null && picture.meanSquaredError <= held.meanSquaredError) {
			this.#record(picture);
			return;
		}
		if (held !== null) this.#record(held);
		this.#leastLike = picture;
	}

	#write({ segment, ledger, pinger, hello }: OpenSegment): void {
		const rows = ledger.takeRows();
		if (rows.length > 0) this.#record({ kind: 'presentations', segment, rows });
		const samples = pinger.takeSamples();
		if (samples.length > 0)
			this.#record({ kind: 'pings', segment, samples, quantumMs: hello.clockQuantumMs });
		for (const note of ledger.takeNotes()) this.#record({ kind: 'event', segment, clock: 'viewer', ...note });
	}
}

function observedIn({ warmUpUntilMs }: OpenSegment, untilMs: number): number {
	return Math.max(0, untilMs - warmUpUntilMs);
}

function lastSeen({ lastSeenMs, startMs, pinger }: OpenSegment): number {
	return lastSeenMs === null ? startMs : Math.max(startMs, lastSeenMs - pinger.aheadMs);
}
