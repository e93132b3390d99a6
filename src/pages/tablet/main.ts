/**
 * The tablet's page: waits for a run, gets the plan, asks for one tap, shows the card as it arrives and tells the laptop what
 * it saw. Nothing is installed, nothing is fetched but from the laptop.
 */
import { parseCardSpec } from '../../pattern/cardSpec.ts';
import type { FromViewer } from '../../protocol/control.ts';
import { type ControlSocket, openControlSocket } from './controlSocket.ts';
import { refusedWords } from './endWords.ts';
import { fittedWidthCssPx, limitWidth, watchFlashRule } from './flashGuard.ts';
import { ability, introduce, objectionTo, type Plan } from './ready.ts';
import { watchScreenOff } from './screenOff.ts';
import { openUdpAnswer } from './udpAnswer.ts';
import { show, view } from './view.ts';
import { Viewing } from './viewing.ts';

/** In the address after `#`: this tablet looks on and steers nothing. */
const WATCH = '#watch';
/** Until the laptop has closed the run's books. */
const ANEW_AFTER_MS = 1000;
/** This load of the page: by it the laptop knows a page that lost its socket. Unlike `randomUUID`, there over http too. */
const PAGE = [...crypto.getRandomValues(new Uint32Array(4))].map((word) => word.toString(36)).join('-');

let plan: Plan | null = null;
let hello: FromViewer | null = null;
let viewing: Viewing | null = null;
let finished = false;
const isWatching = location.hash === WATCH;
const screenOff = watchScreenOff((words) => view.screenOff(words));

const control: ControlSocket = openControlSocket(controlUrl(), {
	onOpen: () => {
		view.hindrance('away', '');
		control.say(ability());
	},
	onMessage: (message, arrivedMs) => {
		if (message.type === 'ping')
			control.say({ type: 'pong', id: message.id, t2: arrivedMs, t3: performance.now() });
		else if (message.type === 'plan') follow(message);
		else if (message.type === 'offer') {
			if (viewing === null) udpAnswer.offered(message);
			else viewing.offered(message);
		} else if (message.type === 'waiting') waitForRun();
		else if (message.type === 'finish') void finish();
		else if (message.type === 'refused') refuse(message.reason);
	},
	onAway: () => {
		if (!finished) view.hindrance('away', 'The laptop is out of reach. What was seen is kept; still trying…');
	},
});
const udpAnswer = openUdpAnswer((message) => control.say(message));

function waitForRun(): void {
	if (plan === null) view.status('This tablet is let in. Waiting for the run to be started on the laptop…');
	else if (finished) return;
	else if (hasSeenNothing()) load('');
	else end('The run has ended', 'The laptop ended the run while this tablet was out of reach.');
}

/** A run that ended before any picture came is no run of this tablet's: it waits for the next one, and nobody has to press. */
function hasSeenNothing(): boolean {
	return viewing === null || viewing.hasSeenNothing;
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
	if (!isWatching) control.joined();
	if (viewing?.isLooking) control.say({ type: 'ready' });
}

async function prepare(received: Plan): Promise<void> {
	plan = received;
	udpAnswer.close();
	view.status('Looking at this display for a second…');
	const objection = await objectionTo(received);
	if (objection !== null) {
		view.status(objection);
		return;
	}
	hello = await introduce(received, { page: PAGE, watching: isWatching });
	join();
	const { layout, widthPx, heightPx, seed, difficulty, rateHz } = received;
	const shown = {
		spec: parseCardSpec({ layout, size: `${widthPx}x${heightPx}`, seed, difficulty }),
		rateHz,
	};
	limitWidth(view.canvas, shown);
	watchFlashRule(
		shown,
		() => fittedWidthCssPx(view.cardBox(), { widthPx, heightPx }),
		({ pass, why }) => {
			viewing?.cover(!pass);
			view.hindrance('dark', pass ? '' : why);
			if (viewing === null) view.canStart(pass, 'Ready. Press Start and leave this page open.');
			if (!pass) viewing?.event('flashRuleExceeded', why);
		},
	);
	view.onStart(() => start(received));
}

function start(received: Plan): void {
	if (viewing !== null) return;
	show('during');
	const onNotKept = (): void => screenOff.notKept();
	viewing = new Viewing({ plan: received, control, isWatching, canvas: view.canvas, onNotKept });
	view.onStop(() => stop());
}

function stop(): void {
	if (viewing === null || finished) return;
	if (isWatching) {
		end('Stopped', 'This tablet no longer looks on.');
		return;
	}
	viewing.stop();
	view.status('Stopped. What was seen goes to the laptop…');
}

async function finish(): Promise<void> {
	if (finished) return;
	finished = true;
	await viewing?.finish();
	control.say({ type: 'done' });
	control.close();
	if (hasSeenNothing()) waitAnew();
	view.after('Done', 'This tablet has sent all it saw. Read the answer on the laptop.', againButton);
}

/** If the laptop's page is still there. */
function waitAnew(): void {
	setTimeout(async () => {
		const { ok } = await fetch(location.pathname).catch(() => ({ ok: false }));
		if (ok) load('');
	}, ANEW_AFTER_MS);
}

function end(title: string, text: string, button = againButton): void {
	finished = true;
	viewing?.close();
	control.close();
	view.after(title, text, button);
}

const againButton = { text: 'Wait for another run', action: () => load('') };

function refuse(reason: string): void {
	const { title, text, mayLookOn } = refusedWords(reason, plan);
	end(title, text, mayLookOn ? { text: 'Look on', action: () => load(WATCH) } : againButton);
}

function load(hash: string): void {
	location.hash = hash;
	location.reload();
}

function controlUrl(): string {
	return `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/control`;
}
