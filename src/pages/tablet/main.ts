/**
 * The tablet's page: waits for a run, gets the plan, asks for one tap, shows the card as it arrives and tells the laptop what
 * it saw. Nothing is installed, nothing is fetched but from the laptop.
 */
import { observeClockQuantumMs, observeDisplayPeriodMs } from '../../media/web/browserTiming.ts';
import { canDecode, JPEG_CODEC } from '../../media/web/pictureDecoder.ts';
import { canReadTracks } from '../../media/web/trackReader.ts';
import type { CardSpec } from '../../pattern/card.ts';
import { parseCardSpec } from '../../pattern/cardSpec.ts';
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import { PROTOCOL_VERSION } from '../../protocol/control.ts';
import { CardScreen } from './cardScreen.ts';
import { type ControlSocket, openControlSocket } from './controlSocket.ts';
import { fittedWidthCssPx, limitWidth, watchFlashRule } from './flashGuard.ts';
import { type Gaze, watchGaze } from './gaze.ts';
import { openPictureStream, type PictureStream } from './pictureStream.ts';
import { openProbeEnd, type ProbeEnd } from './probeEnd.ts';
import { openRtcStream, type RtcStream } from './rtcStream.ts';
import { type Sampler, startSampler } from './sampler.ts';
import { type AwakeScreen, canKeepAwake, keepAwake } from './screenAwake.ts';
import { SeenLog } from './seenLog.ts';
import { show, view } from './view.ts';

type Plan = Extract<ToViewer, { type: 'plan' }>;
type Showing = {
	readonly log: SeenLog;
	readonly screen: CardScreen;
	readonly stream: PictureStream | RtcStream;
	readonly sampler: Sampler;
	readonly gaze: Gaze;
	/** Null: no probe is asked for, or this browser has no way for one. */
	readonly probe: ProbeEnd | null;
	readonly stopTimers: () => void;
	awake: AwakeScreen | null;
};

const REPORT_EVERY_MS = 500;
const MOST_ROWS = 1000;
/** Let the last frames through the code reader and the worker before the page says it is done. */
const SETTLE_MS = 300;
/** In the address after `#`: this tablet looks on and steers nothing. */
const WATCH = '#watch';
const REFUSED_SEAT = 'another viewer steers this run';
/** This load of the page: by it the laptop knows a page that lost its socket. Unlike `randomUUID`, there over http too. */
const PAGE = [...crypto.getRandomValues(new Uint32Array(4))].map((word) => word.toString(36)).join('-');

let plan: Plan | null = null;
let hello: FromViewer | null = null;
let showing: Showing | null = null;
/** Of a run over WebRTC, once shown. */
let rtcStream: RtcStream | null = null;
let finished = false;
let isLooking = false;
const isWatching = location.hash === WATCH;

const control: ControlSocket = openControlSocket(controlUrl(), {
	onOpen: () =>
		control.say({
			type: 'able',
			videoDecoder: typeof VideoDecoder !== 'undefined',
			secureContext: isSecureContext,
			wakeLock: canKeepAwake(),
			userAgent: navigator.userAgent.slice(0, 500),
		}),
	onMessage: (message, arrivedMs) => {
		if (message.type === 'ping')
			control.say({ type: 'pong', id: message.id, t2: arrivedMs, t3: performance.now() });
		else if (message.type === 'plan') follow(message);
		else if (message.type === 'offer')
			(message.way === 'picture' ? rtcStream : showing?.probe)?.offered(message);
		else if (message.type === 'waiting') waitForRun();
		else if (message.type === 'finish') void finish();
		else if (message.type === 'refused') refuse(message.reason);
	},
	onAway: () => {
		if (!finished) view.status('The laptop is out of reach. What was seen is kept; still trying…');
	},
});

function waitForRun(): void {
	if (plan === null) {
		view.status('This tablet is let in. Waiting for the run to be started on the laptop…');
		return;
	}
	if (!finished) end('The run has ended', 'The laptop ended the run while this tablet was out of reach.');
}

function follow(received: Plan): void {
	if (plan === null) void prepare(received);
	else if (plan.runId !== received.runId) location.reload();
	else if (!finished) join();
}

/** Says who it is, then what it saw meanwhile, and last that it looks. */
function join(): void {
	if (hello === null) return;
	control.say(hello);
	if (isWatching) return;
	control.joined();
	if (isLooking) control.say({ type: 'ready' });
	view.status('');
}

async function prepare(received: Plan): Promise<void> {
	plan = received;
	const spec = specOf(received);
	view.step('Looking at this display for a second…');
	const displayPeriodMs = await observeDisplayPeriodMs();
	const isRtc = received.transport === 'webrtc';
	if (!(isRtc ? canReadTracks() : await canDecode(received.codec))) {
		view.step(
			isRtc
				? 'This browser does not let a page read a WebRTC picture frame by frame. Choose WebSocket on the laptop, and try again.'
				: 'This browser cannot decode the picture here. Choose https on the laptop, or use a current browser, and try again.',
		);
		return;
	}
	hello = {
		type: 'hello',
		protocol: PROTOCOL_VERSION,
		displayPeriodMs,
		clockQuantumMs: observeClockQuantumMs(),
		userAgent: navigator.userAgent.slice(0, 500),
		viewerPoint: 'presented',
		decoder: isRtc ? 'WebRTC' : received.codec === JPEG_CODEC ? 'createImageBitmap' : 'VideoDecoder',
		page: PAGE,
		watching: isWatching,
	};
	join();
	const shown = { spec, rateHz: received.rateHz };
	limitWidth(view.canvas, shown);
	watchFlashRule(
		shown,
		() => fittedWidthCssPx(view.cardBox(), sizeOf(received)),
		({ pass, why }) => {
			showing?.screen.cover(!pass);
			view.canStart(pass, pass ? `Ready. Press Start and leave this page open.${screenOffWords()}` : why);
			if (showing !== null && !pass) tellEvent('flashRuleExceeded', why);
		},
	);
	view.onStart(() => start(received, spec));
}

function screenOffWords(): string {
	return canKeepAwake()
		? ''
		: ' This page cannot keep the screen awake: first set the tablet’s screen-off time (in its settings, display) to longer than the run.';
}

function start(received: Plan, spec: CardSpec): void {
	if (showing !== null) return;
	show('during');
	const log = new SeenLog();
	const screen = new CardScreen(view.canvas, sizeOf(received), log);
	const sampler = startSampler(spec, received.sampleEveryMs, (message) => {
		if (isLooking) control.tell(message);
	});
	const parts = {
		spec,
		log,
		screen,
		onFrame: (frame: VideoFrame, frameNumber: number, decodedMs: number) => {
			if (isLooking) sampler.offer(frame, frameNumber, decodedMs);
		},
		onTrouble: tellEvent,
	};
	rtcStream =
		received.transport === 'webrtc'
			? openRtcStream({ ...parts, say: (message) => control.say(message) })
			: null;
	const stream =
		rtcStream ?? openPictureStream({ ...parts, url: pictureUrl(received), codec: received.codec });
	const gaze = watchGaze({ away: lookAway, back: lookBack });
	const probe = probeOf(received);
	showing = { log, screen, stream, sampler, gaze, probe, stopTimers: keepReporting(log), awake: null };
	void keepAwake().then((awake) => {
		if (showing !== null) showing.awake = awake;
	});
	view.onStop(() => stop());
	lookBack();
}

function probeOf({ probePerSecond }: Plan): ProbeEnd | null {
	const may = probePerSecond !== null && !isWatching && typeof RTCPeerConnection !== 'undefined';
	return may ? openProbeEnd(probePerSecond, (message) => control.say(message)) : null;
}

/** Nothing flickers from here on, whether the laptop hears of it or not; if it does, it ends the run. */
function stop(): void {
	if (showing === null) return;
	if (isWatching) {
		end('Stopped', 'This tablet no longer looks on.');
		return;
	}
	tellEvent('stopPressed', 'Stop was pressed on the tablet');
	lookAway('stopPressed');
	showing.gaze.close();
	showing.screen.cover(true);
	view.status('Stopped. What was seen goes to the laptop…');
}

/** What was seen up to here goes; pictures that were still to be drawn are in no stretch that was looked at. */
function lookAway(code: string): void {
	if (showing === null || !isLooking || finished) return;
	showing.log.dropOpenRows();
	tellRows(showing.log);
	showing.log.pause(true);
	isLooking = false;
	if (isWatching) return;
	control.tell({ type: 'away', code });
	control.mark();
}

function lookBack(): void {
	if (showing === null || isLooking || finished) return;
	showing.log.pause(false);
	isLooking = true;
	if (!isWatching) control.say({ type: 'ready' });
}

/** Batches leave at jittered spacing, so that the page's own sending has no period to be found as interference. */
function keepReporting(log: SeenLog): () => void {
	let timer = 0;
	const report = (): void => {
		tellRows(log);
		control.mark();
		const role = isWatching ? 'looking on: ' : '';
		view.status(`${role}${log.decodedCount} pictures arrived, ${log.drawnCount} drawn`);
		timer = window.setTimeout(report, REPORT_EVERY_MS * (0.7 + 0.6 * Math.random()));
	};
	report();
	return () => window.clearTimeout(timer);
}

function tellRows(log: SeenLog): void {
	const rows = log.takeFinished(MOST_ROWS);
	if (rows.length > 0 && !isWatching) control.tell({ type: 'seen', rows });
}

async function finish(): Promise<void> {
	if (finished) return;
	finished = true;
	if (showing !== null) {
		const { log, sampler } = showing;
		stopShowing(showing);
		await new Promise((settled) => setTimeout(settled, SETTLE_MS));
		log.closeOpenRows();
		tellRows(log);
		const kept = await sampler.takeKept();
		if (kept.frameNumber !== null) {
			control.say({ type: 'keptFrame', frameNumber: kept.frameNumber, byteLength: kept.planes.length });
			control.sendBytes(kept.planes);
		}
		sampler.close();
	}
	control.say({ type: 'done' });
	control.close();
	view.after('Done', 'This tablet has sent all it saw. Read the answer on the laptop.', againButton);
}

function stopShowing({ stream, screen, gaze, probe, stopTimers, awake }: Showing): void {
	stream.close();
	screen.stop();
	gaze.close();
	probe?.close();
	stopTimers();
	awake?.release();
}

function end(title: string, text: string): void {
	finished = true;
	if (showing !== null) stopShowing(showing);
	control.close();
	view.after(title, text, againButton);
}

const againButton = { text: 'Wait for another run', action: () => load('') };

function refuse(reason: string): void {
	finished = true;
	if (showing !== null) stopShowing(showing);
	control.close();
	const isTaken = reason === REFUSED_SEAT;
	const mayLookOn = isTaken && plan?.transport === 'websocket';
	view.after(
		isTaken ? 'Another tablet steers this run' : 'The laptop did not take this tablet',
		isTaken ? lookOnWords(mayLookOn) : reason,
		mayLookOn ? { text: 'Look on', action: () => load(WATCH) } : againButton,
	);
}

function lookOnWords(mayLookOn: boolean): string {
	return mayLookOn
		? 'One tablet is measured at a time. This one may look on; it is in no figure.'
		: 'One tablet is measured at a time. Over WebRTC no other can look on; over WebSocket it can.';
}

function load(hash: string): void {
	location.hash = hash;
	location.reload();
}

function tellEvent(code: string, detail: string): void {
	if (isWatching) return;
	control.tell({
		type: 'event',
		atMs: performance.now(),
		code,
		frameNumber: null,
		detail: detail.slice(0, 500),
	});
}

function specOf({ layout, widthPx, heightPx, seed, difficulty }: Plan): CardSpec {
	return parseCardSpec({ layout, size: `${widthPx}x${heightPx}`, seed, difficulty });
}

function sizeOf({ widthPx, heightPx }: Plan): { widthPx: number; heightPx: number } {
	return { widthPx, heightPx };
}

function controlUrl(): string {
	return `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/control`;
}

function pictureUrl({ picturePort, picturePath }: Plan): string {
	return `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.hostname}:${picturePort}${picturePath}`;
}
