/**
 * The tablet's page: gets the plan, asks for one tap, shows the card as it arrives and tells the bench what it saw.
 * Nothing is installed, nothing is fetched but from the bench.
 */
import { observeClockQuantumMs, observeDisplayPeriodMs } from '../../media/web/browserTiming.ts';
import { canDecode } from '../../media/web/pictureDecoder.ts';
import type { CardSpec } from '../../pattern/card.ts';
import { parseCardSpec } from '../../pattern/cardSpec.ts';
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import { PROTOCOL_VERSION } from '../../protocol/control.ts';
import { CardScreen } from './cardScreen.ts';
import { type ControlSocket, openControlSocket } from './controlSocket.ts';
import { fittedWidthCssPx, limitWidth, watchFlashRule } from './flashGuard.ts';
import { openPictureStream, type PictureStream } from './pictureStream.ts';
import { type Sampler, startSampler } from './sampler.ts';
import { SeenLog } from './seenLog.ts';
import { show, view } from './view.ts';

type Plan = Extract<ToViewer, { type: 'plan' }>;
type Showing = {
	readonly log: SeenLog;
	readonly screen: CardScreen;
	readonly stream: PictureStream;
	readonly sampler: Sampler;
	stopTimers: () => void;
};

const REPORT_EVERY_MS = 500;
const MOST_ROWS = 1000;
/** Let the last frames through the code reader and the worker before the page says it is done. */
const SETTLE_MS = 300;

let plan: Plan | null = null;
let hello: FromViewer | null = null;
let showing: Showing | null = null;
let finished = false;

const control: ControlSocket = openControlSocket(controlUrl(), {
	onOpen: () => {
		if (hello !== null && !finished) control.send(hello);
		if (showing !== null && !finished) control.send({ type: 'ready' });
	},
	onMessage: (message, arrivedMs) => {
		if (message.type === 'ping')
			control.send({ type: 'pong', id: message.id, t2: arrivedMs, t3: performance.now() });
		else if (message.type === 'plan') void prepare(message);
		else if (message.type === 'finish') void finish();
		else refuse(message.reason);
	},
	onAway: () => {
		if (!finished) view.status('The bench is out of reach. What was seen is kept; still trying…');
	},
});

async function prepare(received: Plan): Promise<void> {
	if (plan !== null) return;
	plan = received;
	const spec = specOf(received);
	view.step('Looking at this display for a second…');
	const displayPeriodMs = await observeDisplayPeriodMs();
	if (!(await canDecode(received.codec))) {
		view.step(
			'This browser cannot decode the picture here. Open this page over https, or in a current browser, and try again.',
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
		decoder: 'VideoDecoder',
	};
	control.send(hello);
	const shown = { spec, rateHz: received.rateHz };
	limitWidth(view.canvas, shown);
	watchFlashRule(
		shown,
		() => fittedWidthCssPx(view.cardBox(), sizeOf(received)),
		({ pass, why }) => {
			showing?.screen.cover(!pass);
			view.canStart(pass, pass ? 'Ready. Press Start and leave this page open.' : why);
			if (showing !== null && !pass) sendEvent('flashRuleExceeded', why);
		},
	);
	view.onStart(() => start(received, spec));
}

function start(received: Plan, spec: CardSpec): void {
	if (showing !== null) return;
	show('during');
	const log = new SeenLog();
	const screen = new CardScreen(view.canvas, sizeOf(received), log);
	const sampler = startSampler(spec, received.sampleEveryMs, (message) => control.send(message));
	const stream = openPictureStream({
		url: pictureUrl(received),
		codec: received.codec,
		spec,
		log,
		screen,
		onFrame: (frame, row) => sampler.offer(frame, row.packetNumber, row.decodedMs),
		onTrouble: sendEvent,
	});
	showing = { log, screen, stream, sampler, stopTimers: keepReporting(log) };
	view.onStop(() => sendEvent('stopPressed', 'Stop was pressed on the tablet'));
	document.addEventListener('visibilitychange', () =>
		sendEvent(document.hidden ? 'pageHidden' : 'pageShown', 'the page was hidden or shown again'),
	);
	control.send({ type: 'ready' });
}

/** Batches leave at jittered spacing, so that the page's own sending has no period to be found as interference. */
function keepReporting(log: SeenLog): () => void {
	let timer = 0;
	const report = (): void => {
		sendRows(log);
		view.status(`${log.decodedCount} pictures arrived, ${log.drawnCount} drawn`);
		timer = window.setTimeout(report, REPORT_EVERY_MS * (0.7 + 0.6 * Math.random()));
	};
	report();
	return () => window.clearTimeout(timer);
}

function sendRows(log: SeenLog): void {
	const rows = log.takeFinished(MOST_ROWS);
	if (rows.length > 0) control.send({ type: 'seen', rows });
}

async function finish(): Promise<void> {
	if (finished) return;
	finished = true;
	if (showing !== null) {
		const { log, screen, stream, sampler, stopTimers } = showing;
		stream.close();
		screen.stop();
		stopTimers();
		await new Promise((settled) => setTimeout(settled, SETTLE_MS));
		log.closeOpenRows();
		sendRows(log);
		const kept = await sampler.takeKept();
		if (kept.frameNumber !== null) {
			control.send({ type: 'keptFrame', frameNumber: kept.frameNumber, byteLength: kept.planes.length });
			control.sendBytes(kept.planes);
		}
		sampler.close();
	}
	control.send({ type: 'done' });
	control.close();
	view.after(
		'Done',
		'This tablet has sent all it saw. Read the answer on the bench. You may close this page.',
	);
}

function refuse(reason: string): void {
	finished = true;
	showing?.stream.close();
	showing?.screen.stop();
	control.close();
	view.after('The bench did not take this tablet', reason);
}

function sendEvent(code: string, detail: string): void {
	control.send({
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
