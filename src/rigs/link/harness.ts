/**
 * Runs a link: starts the sender, the relay where an air is asked for, the control socket and (headless) the viewer; keeps
 * the clock, joins what was sent with what was seen, and writes it down until the declared time has been observed.
 *
 * Whatever dies on the way, what was measured is closed properly in the records first; only then is the failure thrown.
 */
import { setTimeout as pause } from 'node:timers/promises';
import { OutsideFailure } from '../../failure.ts';
import type { ObservationRecord } from '../../observations/records.ts';
import type { ToViewer } from '../../protocol/control.ts';
import { createRandom, type Random } from '../../statistics/random.ts';
import { monotonicMs, roundMs } from '../../transports/monotonic.ts';
import { type Evidence, makeEvidence } from './evidence.ts';
import { keepHeadlessViewer } from './headless.ts';
import { watchHostLoad } from './hostLoad.ts';
import type { LinkOptions, LinkOutcome, LinkSinks } from './link.ts';
import { viewerStillAwaited } from './linkFailures.ts';
import { linkHeader } from './linkHeader.ts';
import { type LinkParts, openParts } from './linkParts.ts';
import { ProbePath, type WayPackets } from './probePath.ts';
import { RtcLookers } from './rtcLookers.ts';
import { RtcPath } from './rtcPath.ts';
import { RunViewer } from './runViewer.ts';
import { NEWS_WITHIN_MS, SegmentKeeper } from './segmentKeeper.ts';
import type { SentFrame } from './senderMessages.ts';

const STEP_MS = 50;
const WRITE_EVERY_MS = 1000;
const WRITE_JITTER_MS = 600;
/** Beyond `lostAfterMs`: for reports still on their way. */
const DRAIN_GRACE_MS = 3000;
const FINISH_WITHIN_MS = 5000;
/** From the first picture to the first segment: the pings before. */
const SETTLE_MS = 2000;
/** Over WebRTC besides: connecting, and the jitter buffer coming to rest. */
const RTC_SETTLE_MS = 50_000;

/** Throws `OutsideFailure` with the failing part's own code; `RangeError` for options that cannot be. */
export async function runLink(options: LinkOptions, sinks: LinkSinks): Promise<LinkOutcome> {
	if (!(options.observedMs > 0))
		throw new RangeError(`observed time must be above 0, got ${options.observedMs}`);
	const run = new LinkRun(options, sinks);
	try {
		return await run.go();
	} finally {
		await run.closeAll();
	}
}

class LinkRun {
	readonly #options: LinkOptions;
	readonly #sinks: LinkSinks;
	readonly #random: Random;
	readonly #keeper: SegmentKeeper;
	readonly #load = watchHostLoad();
	/** Null: the picture goes over its socket. */
	readonly #rtc: RtcPath | null;
	readonly #lookers = new RtcLookers(() => this.#parts?.sender);
	readonly #probe: ProbePath | null;
	readonly #viewer: RunViewer;
	#parts: LinkParts | null = null;
	#stopViewer: (() => Promise<void>) | null = null;
	/** Whatever ended the run from outside; thrown when all is closed. */
	#failure: unknown = null;
	#ending = false;
	#writtenMs = 0;

	constructor(options: LinkOptions, sinks: LinkSinks) {
		this.#options = options;
		this.#sinks = sinks;
		this.#random = createRandom(options.seed);
		this.#keeper = new SegmentKeeper((record) => this.#record(record), options);
		const send = (message: ToViewer): void => this.#parts?.control.send(message);
		const event = (code: string, detail: string): void => this.#event({ atMs: monotonicMs(), code, detail });
		const [sender, relay] = [() => this.#parts?.sender, () => this.#parts?.udpRelay];
		this.#rtc = options.webrtc === null ? null : new RtcPath({ send, event, sender, relay });
		const probe = { send, event, probe: () => this.#parts?.probe, relay: () => this.#parts?.probeRelay };
		this.#probe = options.probePerSecond === null ? null : new ProbePath(probe, options.lostAfterMs);
		this.#viewer = new RunViewer({
			...{ send, random: this.#random, keeper: this.#keeper, rtc: this.#rtc, probe: this.#probe },
			viewerWithinMs: options.viewerWithinMs,
			event: (one) => this.#event(one),
			begins: (hello) => this.#record(linkHeader(options, hello, this.#parts?.sender.codec ?? '')),
			beginPictures: () => this.#parts?.sender.begin(),
			writeLastProbes: (nowMs, silent) => this.#writeLastProbes(nowMs, silent),
			isEnding: () => this.#ending,
			fail: (failure) => this.#fail(failure),
		});
	}

	async go(): Promise<LinkOutcome> {
		this.#sinks.progress({ stage: 'starting' });
		await this.#open();
		let reason: string | null = null;
		while (reason === null) {
			await pause(STEP_MS);
			reason = this.#step(monotonicMs());
		}
		this.#ending = true;
		if (reason === 'runEnd' || reason === 'tookTooLong') await this.#drain(reason);
		await this.#finish();
		// Ended from outside: what the viewer had seen, it has told by now.
		this.#writeLastProbes(monotonicMs());
		this.#keeper.end(reason, 'unobserved', monotonicMs());
		const relayLog = (await this.#parts?.endRelay()) ?? null;
		const udpRelayLog = (await this.#parts?.endUdpRelay()) ?? null;
		const probeRelayLog = (await this.#parts?.endProbeRelay()) ?? null;
		return this.#conclude(reason, { relayLog, udpRelayLog, probeRelayLog });
	}

	/** The viewer first, so that it sees no socket die. */
	async closeAll(): Promise<void> {
		this.#ending = true;
		this.#load.stop();
		this.#viewer.seated?.pinger.stop();
		this.#rtc?.close();
		this.#probe?.close();
		await this.#stopViewer?.();
		await this.#parts?.close();
	}

	async #open(): Promise<void> {
		const parts = await openParts(this.#options, {
			sender: {
				frame: (frame) => this.#onFrame(frame),
				event: ({ type: _, ...event }) => this.#event(event),
				offer: (link, sdp) => (this.#lookers.has(link) ? this.#lookers : this.#rtc)?.offered(link, sdp),
				connected: (link) => {
					if (this.#lookers.has(link)) return;
					this.#rtc?.connected(link);
					this.#sinks.progress({ stage: 'stream', isUp: true });
				},
				streamLost: (link, why) => {
					if (this.#lookers.has(link)) return this.#lookers.lost(link);
					this.#rtc?.lost(link, why);
					return this.#sinks.progress({ stage: 'stream', isUp: false });
				},
				counts: (row) => this.#keeper.streamCounts('sender', [row]),
			},
			control: {
				came: (hello) => this.#viewer.came(hello),
				message: (message, heardMs) => this.#viewer.said(message, heardMs),
				bytes: (bytes) => this.#viewer.sentBytes(bytes),
				refused: (reason, steering) => {
					const code = steering ? 'viewerRefused' : 'otherViewerRefused';
					this.#event({ atMs: monotonicMs(), code, detail: reason });
				},
				left: () => this.#viewer.left(),
				watching: (count) =>
					this.#event({
						atMs: monotonicMs(),
						code: 'watching',
						detail: `${count} besides the steering viewer`,
					}),
				looker: this.#options.webrtc === null ? noLooker : this.#lookers,
			},
			probe: this.#probe?.events ?? noProbe,
			lost: (failure) => this.#fail(failure),
		});
		this.#parts = parts;
		this.#sinks.progress({ stage: 'senderStarted', pid: parts.sender.pid });
		this.#startViewer(parts.control);
	}

	#startViewer({ url, port: controlPort }: LinkParts['control']): void {
		const { host, viewer } = this.#options;
		this.#viewer.awaited(monotonicMs());
		this.#sinks.progress({ stage: 'waitingForViewer', url });
		if (viewer === 'external' || controlPort === null) return;
		this.#stopViewer = keepHeadlessViewer({
			host,
			controlPort,
			random: this.#random,
			onStarted: (pid, clockAheadMs) => this.#sinks.progress({ stage: 'viewerStarted', pid, clockAheadMs }),
			onFailed: (failure) => this.#fail(failure),
		});
	}

	#onFrame(frame: SentFrame): void {
		this.#sinks.sent?.(frame);
		if (frame.encodeMs !== null) this.#load.encoded(frame.encodeMs);
		const viewer = this.#viewer.seated;
		// Only the first segment waits for the jitter buffer: what it does after that is the link's own.
		const isAtRest = this.#rtc === null || this.#rtc.isAtRest || this.#keeper.segmentCount > 0;
		const mayBegin = !this.#ending && !this.#keeper.isOpen && frame.viewerCount > 0 && isAtRest;
		if (mayBegin && viewer?.isSettled) this.#keeper.begin(frame.shownMs, viewer);
		this.#keeper.sent(frame);
	}

	/** Why the run ends now; null while it goes on. */
	#step(nowMs: number): string | null {
		if (this.#failure !== null) return reasonOf(this.#failure);
		if (this.#sinks.signal?.aborted || this.#viewer.isStopAsked) return 'stopped';
		this.#writeNowAndThen(nowMs);
		const gone = this.#viewer.check(nowMs);
		if (gone !== null || this.#viewer.seated === null) return gone;
		const { observedMs: targetMs, warmUpMs } = this.#options;
		if (this.#keeper.observedMs(nowMs) >= targetMs) return 'runEnd';
		const sinceMs = this.#viewer.watchingSinceMs ?? nowMs;
		const limitMs = 2 * targetMs + warmUpMs * this.#keeper.segmentCount;
		const settleMs = this.#rtc === null ? SETTLE_MS : SETTLE_MS + RTC_SETTLE_MS;
		return nowMs - sinceMs > limitMs + settleMs ? 'tookTooLong' : null;
	}

	#writeNowAndThen(nowMs: number): void {
		if (nowMs - this.#writtenMs < WRITE_EVERY_MS) return;
		// Not every second to the tick: a period of our own would be looked for, and found, in the air.
		this.#writtenMs = nowMs + WRITE_JITTER_MS * (this.#random.next() - 0.5);
		this.#keeper.flush(nowMs);
		this.#writeProbes(this.#probe?.take(nowMs));
		const load = this.#load.sample();
		if (!this.#viewer.hasCome) return;
		this.#record({ kind: 'harness', atMs: roundMs(nowMs), ...load });
		const bufferMs = this.#rtc?.restlessMs ?? null;
		const targetMs = this.#options.observedMs;
		const observed = { observedMs: this.#keeper.observedMs(nowMs), targetMs, bufferMs };
		if (!this.#ending)
			this.#sinks.progress({ stage: this.#keeper.isWarm(nowMs) ? 'measuring' : 'warmUp', ...observed });
	}

	/** The open segment is about to end. `silent`: the viewer tells nothing any more. */
	#writeLastProbes(nowMs: number, silent = false): void {
		this.#writeProbes(this.#probe?.takeAll(nowMs, silent));
	}

	#writeProbes(settled: readonly WayPackets[] = []): void {
		for (const { way, packets } of settled) this.#keeper.probes(way, packets);
	}

	/** Frames on their way may still find their class; the sender goes on, so that nothing stays behind in a decoder. */
	async #drain(reason: string): Promise<void> {
		const endMs = monotonicMs();
		this.#sinks.progress({ stage: 'draining' });
		this.#keeper.stopAccepting(endMs);
		const untilMs = endMs + this.#options.lostAfterMs + DRAIN_GRACE_MS;
		await pause(NEWS_WITHIN_MS);
		while (this.#keeper.pendingCount > 0 && this.#viewer.seated !== null && this.#failure === null) {
			if (monotonicMs() > untilMs) break;
			await pause(STEP_MS);
			this.#writeNowAndThen(monotonicMs());
		}
		await this.#viewer.seated?.pinger.after();
		this.#writeLastProbes(monotonicMs());
		// The viewer was there until `endMs`, and that time counts. If it has left since, what never came is lost all the same:
		// left out of the ledger, a link that breaks at the very end would hide its losses.
		this.#keeper.end(reason, 'lost', endMs);
	}

	/** What the viewer still holds, and the picture it kept. */
	async #finish(): Promise<void> {
		if (this.#viewer.seated === null) return;
		this.#sinks.progress({ stage: 'finishing' });
		this.#rtc?.close();
		this.#probe?.close();
		this.#parts?.control.send({ type: 'finish' });
		const untilMs = monotonicMs() + FINISH_WITHIN_MS;
		while (!this.#viewer.isDone && this.#viewer.seated !== null && monotonicMs() < untilMs)
			await pause(STEP_MS);
	}

	#conclude(
		reason: string,
		logs: Pick<LinkOutcome, 'relayLog' | 'udpRelayLog' | 'probeRelayLog'>,
	): LinkOutcome {
		const { kept } = this.#viewer;
		// A picture kept from before the run stands in no record, and is no evidence of it.
		const isOurs = kept !== null && kept.frameNumber === this.#keeper.leastLikeFrame;
		const evidence = isOurs && kept.bytes !== null ? this.#makeEvidence(kept.frameNumber, kept.bytes) : null;
		this.#keeper.closePictures(evidence);
		const nowMs = monotonicMs();
		if (this.#viewer.hasCome) this.#record({ kind: 'end', atMs: roundMs(nowMs), reason });
		if (this.#failure !== null) throw this.#failure;
		if (!this.#viewer.hasCome) throw viewerStillAwaited();
		const observedMs = this.#keeper.observedMs(nowMs);
		return { reason, observedMs, segmentCount: this.#keeper.segmentCount, ...logs };
	}

	#makeEvidence(frameNumber: number, bytes: Uint8Array): Evidence | null {
		return makeEvidence({ frameNumber, bytes }, this.#options.card, this.#sinks.evidence);
	}

	#event(event: { atMs: number; code: string; frameNumber?: number | null; detail?: string | null }): void {
		if (this.#viewer.hasCome) this.#keeper.event(event);
	}

	#record(record: ObservationRecord): void {
		try {
			this.#sinks.record(record);
		} catch (error) {
			this.#failure ??= error;
		}
	}

	#fail(failure: unknown): void {
		if (!this.#ending) this.#failure ??= failure;
	}
}

const noLooker = { ready() {}, answered() {}, gone() {} };
const noProbe = { offer() {}, connected() {}, lost() {}, probed() {} };

function reasonOf(failure: unknown): string {
	return failure instanceof OutsideFailure ? failure.code : 'benchFailed';
}
