/**
 * The viewer of a run, over the run's whole life: it comes, says what it saw, falls silent, goes, and may come back. What it
 * says goes to whoever keeps it; what its going means for the open segment is decided here.
 */
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import type { Random } from '../../statistics/random.ts';
import { monotonicMs } from '../../transports/monotonic.ts';
import type { Hello } from './controlServer.ts';
import { viewerNeverCame } from './linkFailures.ts';
import type { ProbePath } from './probePath.ts';
import type { RtcPath } from './rtcPath.ts';
import { SeatedViewer } from './seatedViewer.ts';
import type { SegmentKeeper } from './segmentKeeper.ts';

export type RunViewerMeans = {
	readonly random: Random;
	readonly keeper: SegmentKeeper;
	/** Null: the picture goes over its socket. */
	readonly rtc: RtcPath | null;
	readonly probe: ProbePath | null;
	/** A viewer that is away may come back for so long. */
	readonly viewerWithinMs: number;
	readonly send: (message: ToViewer) => void;
	readonly event: (event: { readonly atMs: number; readonly code: string; readonly detail?: string }) => void;
	/** The first viewer came: the run has its header. */
	readonly begins: (hello: Hello) => void;
	/** The first picture may be made. */
	readonly beginPictures: () => void;
	/** What is known of the probes is written down before a segment ends. `silent`: the viewer tells nothing any more. */
	readonly writeLastProbes: (nowMs: number, silent?: boolean) => void;
	readonly isEnding: () => boolean;
	readonly fail: (failure: unknown) => void;
};

export type KeptPicture = { readonly frameNumber: number; bytes: Uint8Array | null };

export class RunViewer {
	readonly #means: RunViewerMeans;
	#seated: SeatedViewer | null = null;
	#firstHello: Hello | null = null;
	/** The loaded page in the seat, or last in it; null where it does not say. */
	#page: string | null = null;
	#watchingSinceMs: number | null = null;
	#aloneSinceMs = 0;
	#isDone = false;
	#isStopAsked = false;
	#kept: KeptPicture | null = null;

	constructor(means: RunViewerMeans) {
		this.#means = means;
	}

	get seated(): SeatedViewer | null {
		return this.#seated;
	}

	get hasCome(): boolean {
		return this.#firstHello !== null;
	}

	/** It was ready for pictures for the first time. */
	get watchingSinceMs(): number | null {
		return this.#watchingSinceMs;
	}

	/** It has said all. */
	get isDone(): boolean {
		return this.#isDone;
	}

	/** On its own screen. */
	get isStopAsked(): boolean {
		return this.#isStopAsked;
	}

	/** The picture least like its reference, as it told. */
	get kept(): KeptPicture | null {
		return this.#kept;
	}

	/** Waiting for a viewer begins. */
	awaited(nowMs: number): void {
		this.#aloneSinceMs = nowMs;
	}

	/** A reason refuses it. */
	came(hello: Hello): string | null {
		const { keeper, send, random, event, fail, begins } = this.#means;
		const first = this.#firstHello;
		if (first !== null && hello.viewerPoint !== first.viewerPoint)
			return `this run observes pictures as ${first.viewerPoint}, not as ${hello.viewerPoint}`;
		this.#firstHello ??= hello;
		if (first === null) begins(hello);
		else event({ atMs: monotonicMs(), code: 'viewerReturned' });
		// Another page, or the same one loaded anew, has nothing to tell of before.
		if (hello.page === undefined || hello.page !== this.#page)
			keeper.endSuspended('viewerLeft', monotonicMs());
		this.#page = hello.page ?? null;
		const viewer = new SeatedViewer(hello, send, random);
		this.#seated = viewer;
		viewer.pinger.run().catch(fail);
		return null;
	}

	/** `heardMs`: when the message arrived, before it was read. */
	said(message: FromViewer, heardMs: number): void {
		const viewer = this.#seated;
		if (viewer === null) return;
		const { keeper, rtc, probe } = this.#means;
		viewer.heard(heardMs);
		switch (message.type) {
			case 'ready':
				this.#looks(viewer, heardMs);
				return;
			case 'answer':
				if (message.way === 'picture') rtc?.answered(message);
				else probe?.answered(message);
				return;
			case 'streamCounts':
				rtc?.viewerCounts(message.rows);
				keeper.streamCounts('viewer', message.rows);
				return;
			case 'probed':
				probe?.probed(message, heardMs);
				return;
			case 'pong':
				viewer.pinger.pong(message, heardMs);
				return;
			case 'seen':
				keeper.seen(message.rows, heardMs);
				return;
			case 'event':
				if (message.code === 'stopPressed') this.#isStopAsked = true;
				keeper.sample(message);
				return;
			case 'patches':
			case 'picture':
			case 'detail':
				keeper.sample(message);
				return;
			case 'keptFrame':
				this.#kept = { frameNumber: message.frameNumber, bytes: null };
				return;
			case 'done':
				this.#isDone = true;
				return;
			case 'away':
				this.#looksAway(viewer, message.code);
				return;
			case 'able':
			case 'mark':
			case 'hello':
				return;
		}
	}

	/** The planes of the picture that it said it kept. */
	sentBytes(bytes: Uint8Array): void {
		if (this.#kept !== null) this.#kept.bytes ??= bytes;
	}

	left(): void {
		const { keeper, rtc, probe, isEnding } = this.#means;
		this.#seated?.pinger.stop();
		this.#seated = null;
		this.#aloneSinceMs = monotonicMs();
		// A page that has said all leaves at once: what it kept is still wanted.
		if (isEnding()) return;
		this.#kept = null;
		// It may come back with what it saw meanwhile; until then nothing is decided about those frames.
		if (this.#page !== null) {
			keeper.suspend(monotonicMs());
			probe?.viewerAway();
			return;
		}
		keeper.end('viewerLeft', 'unobserved', monotonicMs());
		rtc?.viewerGone();
	}

	/** Why the run ends for want of a viewer; null while it goes on. */
	check(nowMs: number): string | null {
		const viewer = this.#seated;
		if (viewer !== null) {
			this.#listen(viewer, nowMs);
			return null;
		}
		const { viewerWithinMs, fail } = this.#means;
		if (nowMs - this.#aloneSinceMs < viewerWithinMs) return null;
		if (this.hasCome) return 'viewerGone';
		fail(viewerNeverCame());
		return 'viewerNeverCame';
	}

	#looks(viewer: SeatedViewer, heardMs: number): void {
		const { keeper, rtc, probe, beginPictures, writeLastProbes } = this.#means;
		if (this.#watchingSinceMs === null) beginPictures();
		this.#watchingSinceMs ??= heardMs;
		// A page that came back has told by now what it saw and got while its socket was away.
		writeLastProbes(heardMs);
		keeper.endSuspended('viewerLeft', heardMs);
		viewer.markReady();
		rtc?.viewerReady(viewer.hello.page);
		probe?.viewerReady(viewer.hello.page);
	}

	/** The page looks no longer, though its socket may be open: what it has seen was told before. */
	#looksAway(viewer: SeatedViewer, code: string): void {
		const { keeper, event, writeLastProbes } = this.#means;
		event({ atMs: monotonicMs(), code: 'viewerAway', detail: code });
		writeLastProbes(monotonicMs());
		keeper.end(code, 'unobserved', monotonicMs());
		viewer.lookAway();
	}

	#listen(viewer: SeatedViewer, nowMs: number): void {
		const change = viewer.check(nowMs);
		if (change === null) return;
		const { keeper, event, writeLastProbes } = this.#means;
		event({ atMs: nowMs, code: change === 'fellSilent' ? 'viewerSilent' : 'viewerReturned' });
		if (change !== 'fellSilent') return;
		writeLastProbes(nowMs, true);
		keeper.end('viewerSilent', 'lost', nowMs);
	}
}
