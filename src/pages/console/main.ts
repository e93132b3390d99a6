/** The laptop's page: orders to the console, and the console's state as it comes. */
import {
	type ConsoleState,
	JOININGS,
	type Joining,
	RUN_PROFILES,
	RUN_TRANSPORTS,
} from '../../protocol/console.ts';
import { CAUTIONS, SHORT_CAUTIONS } from '../../report/cautions.ts';
import { openConsoleSocket } from './consoleSocket.ts';
import { element, fill, items, make, setText } from './elements.ts';
import { pressTwice } from './pressTwice.ts';
import { showState } from './showState.ts';
import { chosen, radio, showWays } from './wayList.ts';

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
let state: ConsoleState | null = null;
let isResultPutAway = false;

const { send } = openConsoleSocket((read) => {
	if (state === null) element('https', HTMLInputElement).checked = read.httpsPreferred;
	state = read;
	showWays(read);
	showState(read, isResultPutAway);
});
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
/** Before a run it is a choice, in a run that waits for UDP another run: then Start is tapped again. */
element('useWebSocket', HTMLButtonElement).onclick = () => {
	element('transports', HTMLElement).querySelector<HTMLInputElement>('[value="websocket"]')?.click();
	if (state?.run != null) send({ type: 'useWebSocket' });
};
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
