/** The laptop's page: orders to the console, and the console's state as it comes. */
import {
	CONSOLE_SOCKET_PATH,
	type ConsoleState,
	type FromConsolePage,
	JOININGS,
	type Joining,
	RUN_PROFILES,
	RUN_TRANSPORTS,
	readState,
} from '../../protocol/console.ts';
import { CAUTIONS, SHORT_CAUTIONS } from '../../report/cautions.ts';
import { element, fill, items, make, setHidden, setText } from './elements.ts';
import { pressTwice } from './pressTwice.ts';
import { showState } from './showState.ts';

const RETRY_MS = 1000;
const PROFILE_WORDS: Readonly<Record<(typeof RUN_PROFILES)[number], string>> = {
	demo: 'Twenty seconds: to see it work; readings, no answer but "no"',
	brief: 'Two minutes: shows what speaks against this place, and is never a "yes"',
	verdict: 'Five minutes: an answer',
	long: 'Ten minutes: an answer that sees rarer freezes',
};
const TRANSPORT_WORDS: Readonly<Record<(typeof RUN_TRANSPORTS)[number], string>> = {
	webrtc: 'WebRTC (UDP): late packets are left behind and the quality follows the air',
	websocket:
		'WebSocket (TCP): goes through where UDP is shut; nothing is lost, but one late packet holds back all after it',
};
const KIND_WORDS = {
	real: '',
	virtual: ' (virtual)',
	thisComputer: ' (this computer only, for a trial)',
} as const;

let socket: WebSocket | null = null;
let state: ConsoleState | null = null;
let isResultPutAway = false;
let shownWays = '';

connect();
fill('cautions', items(SHORT_CAUTIONS));
element('allCautions', HTMLElement).append(
	...CAUTIONS.flatMap(({ title, lines }) => {
		const list = document.createElement('ul');
		list.append(...items(lines));
		return [make('h3', title), list];
	}),
);
for (const [value, words] of Object.entries(JOININGS)) {
	const option = make('option', words);
	option.value = value;
	element('joining', HTMLSelectElement).append(option);
}
element('profiles', HTMLElement).append(
	...RUN_PROFILES.map((profile) => radio('profile', profile, PROFILE_WORDS[profile], profile === 'brief')),
);
element('transports', HTMLElement).append(
	...RUN_TRANSPORTS.map((name) => radio('transport', name, TRANSPORT_WORDS[name], name === 'webrtc')),
);
pressTwice(element('stop', HTMLButtonElement), {
	armed: 'Stop: press again',
	hint: (text) => setText('stopHint', text),
	action: () => send({ type: 'stop' }),
});
element('getReady', HTMLButtonElement).onclick = () => send({ type: 'getReady' });
element('again', HTMLButtonElement).onclick = () => {
	isResultPutAway = true;
	if (state !== null) showState(state, true);
};
element('doorForm', HTMLFormElement).onsubmit = (event) => {
	event.preventDefault();
	const address = chosen('way');
	if (address !== null)
		send({ type: 'openDoor', address, https: element('https', HTMLInputElement).checked });
};
element('runForm', HTMLFormElement).onsubmit = (event) => {
	event.preventDefault();
	const joining = Object.keys(JOININGS).find((key) => key === element('joining', HTMLSelectElement).value);
	const profile = RUN_PROFILES.find((name) => name === chosen('profile'));
	const transport = RUN_TRANSPORTS.find((name) => name === chosen('transport'));
	if (!isJoining(joining) || profile === undefined || transport === undefined) return;
	isResultPutAway = false;
	send({ type: 'start', joining, profile, transport, place: element('place', HTMLInputElement).value });
};

function isJoining(key: string | undefined): key is Joining {
	return key !== undefined && key in JOININGS;
}

function connect(): void {
	socket = new WebSocket(`ws://${location.host}${CONSOLE_SOCKET_PATH}`);
	socket.onopen = () => setText('link', 'on this laptop; no internet is used');
	socket.onmessage = ({ data }) => {
		const read = typeof data === 'string' ? readState(data) : null;
		if (read === null) return;
		if (state === null) element('https', HTMLInputElement).checked = read.httpsPreferred;
		state = read;
		showWays(read);
		showState(read, isResultPutAway);
	};
	socket.onclose = () => {
		setText('link', 'The console was closed. Start it again; this page comes back by itself.');
		setTimeout(connect, RETRY_MS * (0.7 + 0.6 * Math.random()));
	};
}

function send(order: FromConsolePage): void {
	if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(order));
}

/** The list is made anew only when the networks changed, so that nobody's choice jumps away. */
function showWays({ ways, door }: ConsoleState): void {
	const now = JSON.stringify(ways);
	if (now === shownWays) return;
	shownWays = now;
	const before = chosen('way') ?? door?.address ?? ways[0]?.address;
	const fields = element('ways', HTMLElement);
	for (const label of fields.querySelectorAll('label')) label.remove();
	for (const { name, address, kind } of ways)
		fields.append(radio('way', address, `${name}: ${address}${KIND_WORDS[kind]}`, address === before));
	setHidden('doorForm', ways.length === 0);
}

function radio(name: string, value: string, words: string, checked: boolean): HTMLLabelElement {
	const label = make('label', '', 'tick');
	const input = document.createElement('input');
	Object.assign(input, { type: 'radio', name, value, checked });
	label.append(input, words);
	return label;
}

function chosen(name: string): string | null {
	const input = document.querySelector(`input[name="${name}"]:checked`);
	return input instanceof HTMLInputElement ? input.value : null;
}
