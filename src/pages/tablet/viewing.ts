/**
 * One run on this tablet from the tap to its end: the card as it arrives, what was seen of it on its way to the laptop, and
 * whether somebody could be looking. A viewer that only looks on shows the same and tells nothing.
 */
import { parseCardSpec } from '../../pattern/cardSpec.ts';
import type { ToViewer } from '../../protocol/control.ts';
import { CardScreen } from './cardScreen.ts';
import type { ControlSocket } from './controlSocket.ts';
import { type Gaze, watchGaze } from './gaze.ts';
import { openPictureStream, type PictureStream } from './pictureStream.ts';
import { openProbeEnd, type ProbeEnd } from './probeEnd.ts';
import type { Plan } from './ready.ts';
import { openRtcStream, type RtcStream } from './rtcStream.ts';
import { type Sampler, startSampler } from './sampler.ts';
import { type AwakeScreen, keepAwake } from './screenAwake.ts';
import { SeenLog } from './seenLog.ts';
import { view } from './view.ts';

type Offer = Extract<ToViewer, { type: 'offer' }>;
type Parts = {
	readonly plan: Plan;
	readonly control: ControlSocket;
	readonly isWatching: boolean;
	readonly canvas: HTMLCanvasElement;
	/** The screen cannot be kept on: told once. */
	readonly onNotKept: () => void;
};

const REPORT_EVERY_MS = 500;
const MOST_ROWS = 1000;
/** Let the last frames through the code reader and the worker before the page says it is done. */
const SETTLE_MS = 300;

export class Viewing {
	readonly #parts: Parts;
	readonly #log = new SeenLog();
	readonly #screen: CardScreen;
	readonly #sampler: Sampler;
	/** Null: the picture comes by its socket. */
	readonly #rtc: RtcStream | null;
	readonly #stream: PictureStream | RtcStream;
	readonly #gaze: Gaze;
	/** Null: no probe is asked for, or this browser has no way for one. */
	readonly #probe: ProbeEnd | null;
	#isLooking = false;
	#isOver = false;
	#timer = 0;
	#awake: AwakeScreen | null = null;

	constructor(parts: Parts) {
		this.#parts = parts;
		const { plan, control, canvas } = parts;
		const { widthPx, heightPx, layout, seed, difficulty } = plan;
		const spec = parseCardSpec({ layout, size: `${widthPx}x${heightPx}`, seed, difficulty });
		this.#screen = new CardScreen(canvas, { widthPx, heightPx }, this.#log);
		this.#sampler = startSampler(spec, plan.sampleEveryMs, (message) => {
			if (this.#isLooking) this.#tell(message);
		});
		const stream = {
			spec,
			log: this.#log,
			screen: this.#screen,
			onArrival: () => this.#gaze.check(),
			onFrame: (...[picture, number, atMs]: Parameters<Sampler['offer']>) => {
				if (this.#isLooking) this.#sampler.offer(picture, number, atMs);
			},
			onTrouble: (code: string, detail: string) => this.event(code, detail),
		};
		this.#rtc =
			plan.transport === 'webrtc'
				? openRtcStream({ ...stream, say: (message) => control.say(message) })
				: null;
		this.#stream = this.#rtc ?? openPictureStream({ ...stream, url: pictureUrl(plan), codec: plan.codec });
		this.#gaze = watchGaze({ away: (code) => this.lookAway(code), back: () => this.lookBack() });
		this.#probe = this.#probeOf(plan);
		void this.#keepAwake();
		this.#report();
		this.lookBack();
	}

	get isLooking(): boolean {
		return this.#isLooking;
	}

	get hasSeenNothing(): boolean {
		return this.#log.decodedCount === 0;
	}

	offered(offer: Offer): void {
		if (offer.way === 'picture') this.#rtc?.offered(offer);
		else this.#probe?.offered(offer);
	}

	/** What was seen up to here goes; pictures that were still to be drawn are in no stretch that was looked at. */
	lookAway(code: string): void {
		if (!this.#isLooking || this.#isOver) return;
		this.#log.dropOpenRows();
		this.#tellRows();
		this.#log.pause(true);
		this.#isLooking = false;
		this.#tell({ type: 'away', code });
		if (!this.#parts.isWatching) this.#parts.control.mark();
	}

	lookBack(): void {
		if (this.#isLooking || this.#isOver) return;
		this.#log.pause(false);
		this.#isLooking = true;
		this.#parts.control.say({ type: 'ready' });
	}

	/** The card does not keep the flash rule at this size, or does again. */
	cover(covered: boolean): void {
		this.#screen.cover(covered);
	}

	/** Nothing flickers from here on, whether the laptop hears of it or not; if it does, it ends the run. */
	stop(): void {
		this.event('stopPressed', 'Stop was pressed on the tablet');
		this.lookAway('stopPressed');
		this.#gaze.close();
		this.#screen.cover(true);
	}

	/** All that was seen, and the least like picture. */
	async finish(): Promise<void> {
		const { control, isWatching } = this.#parts;
		this.close();
		await new Promise((settled) => setTimeout(settled, SETTLE_MS));
		this.#log.closeOpenRows();
		this.#tellRows();
		const kept = await this.#sampler.takeKept();
		if (kept.frameNumber !== null && !isWatching) {
			control.say({ type: 'keptFrame', frameNumber: kept.frameNumber, byteLength: kept.planes.length });
			control.sendBytes(kept.planes);
		}
		this.#sampler.close();
	}

	/** Shows and looks no longer; what was seen is still here. */
	close(): void {
		this.#isOver = true;
		this.#stream.close();
		this.#screen.stop();
		this.#gaze.close();
		this.#probe?.close();
		window.clearTimeout(this.#timer);
		this.#awake?.release();
	}

	event(code: string, detail: string): void {
		const atMs = performance.now();
		this.#tell({ type: 'event', atMs, code, frameNumber: null, detail: detail.slice(0, 500) });
	}

	#tell(message: Parameters<ControlSocket['tell']>[0]): void {
		if (!this.#parts.isWatching) this.#parts.control.tell(message);
	}

	#tellRows(): void {
		for (;;) {
			const rows = this.#log.takeFinished(MOST_ROWS);
			if (rows.length === 0) return;
			this.#tell({ type: 'seen', rows });
		}
	}

	/** Batches leave at jittered spacing, so that the page's own sending has no period to be found as interference. */
	#report(): void {
		this.#tellRows();
		this.#parts.control.mark();
		const role = this.#parts.isWatching ? 'looking on: ' : '';
		view.status(`${role}${this.#log.decodedCount} pictures arrived, ${this.#log.drawnCount} drawn`);
		this.#timer = window.setTimeout(() => this.#report(), REPORT_EVERY_MS * (0.7 + 0.6 * Math.random()));
	}

	#probeOf({ probePerSecond }: Plan): ProbeEnd | null {
		const { control, isWatching } = this.#parts;
		const may = probePerSecond !== null && !isWatching && typeof RTCPeerConnection !== 'undefined';
		return may ? openProbeEnd(probePerSecond, control) : null;
	}

	async #keepAwake(): Promise<void> {
		const awake = await keepAwake();
		if (this.#isOver) return awake.release();
		this.#awake = awake;
		if (awake.isKept) return;
		this.event('screenNotKept', 'the browser did not let the page keep the screen on');
		this.#parts.onNotKept();
	}
}

function pictureUrl({ picturePort, picturePath }: Plan): string {
	return `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.hostname}:${picturePort}${picturePath}`;
}
