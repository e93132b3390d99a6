/** The yard check on the laptop: one large step at a time. What comes next is the console's to say; here it is shown and pressed. */
import type { ConsoleState } from '../../protocol/console.ts';
import type { YardCheck, YardOrder } from '../../protocol/yard.ts';
import { openConsoleSocket } from '../console/consoleSocket.ts';
import { element, make, setText } from '../console/elements.ts';
import { pressTwice } from '../console/pressTwice.ts';
import { chosen, radio, showWays } from '../console/wayList.ts';
import { showYard, type Turn, type YardHands } from './showYard.ts';

const MINUTES = [10, 15, 20, 30, 45, 60];
const TRANSPORTS = [
	['webrtc', 'UDP, as most kits do'],
	['websocket', 'TCP: goes through where UDP is shut'],
] as const;
const WARNED = [
	['yes', 'Yes'],
	['no', 'No'],
	['notTried', 'Not tried'],
] as const;

let state: ConsoleState | null = null;
/** Which of the last screens the person turned to; null: the one that is next. */
let turned: Turn = null;
let isLost = false;

const { send } = openConsoleSocket(
	(read) => {
		if (state === null) element('https', HTMLInputElement).checked = read.httpsPreferred;
		const { step } = read.yard.check ?? {};
		if (step !== state?.yard.check?.step) turned = null;
		state = read;
		isLost = false;
		showWays(read);
		show();
	},
	() => {
		isLost = true;
		show();
	},
);

/** With the console gone every check ends where all checks end. */
function show(): void {
	if (state !== null) showYard(state, isLost ? 'lost' : turned, hands);
}

function order(what: YardOrder): void {
	send({ type: 'yard', order: what });
}

const check = (): YardCheck | null => state?.yard.check ?? null;
const hands: YardHands = { order };

press('placesDone', () => order({ kind: 'placesNamed' }));
press('channelUnknown', () => order({ kind: 'channel', text: '' }));
press('filmed', () => order({ kind: 'stop' }));
press('askAgain', () => order({ kind: 'wifi', wifi: 'kit' }));
press('goOn', () => order({ kind: 'goOn' }));
press('toKit', () => turnTo('kit'));
press('readAgain', () => turnTo('answer'));
press('reopen', () => turnTo('answer'));
press('kitDone', () => order({ kind: 'backAtKit' }));
press('leave', () => order({ kind: 'leave' }));
press('measure', () =>
	order({ kind: 'measure', transport: chosen('transport') === 'websocket' ? 'websocket' : 'webrtc' }),
);
pressTwice(element('stop', HTMLButtonElement), {
	armed: 'Stop now: press again',
	hint: (text) =>
		setText(
			'stopHint',
			text === '' ? '' : 'What was measured before is told; a run that is on is thrown away.',
		),
	action: () => order({ kind: 'stop' }),
});

element('minutes', HTMLElement).append(
	...MINUTES.map((minutes) => button(`${minutes} min`, () => order({ kind: 'minutes', minutes }))),
);
element('transports', HTMLElement).append(
	...TRANSPORTS.map(([value, words]) => radio('transport', value, words, value === 'webrtc')),
);
element('warned', HTMLElement).append(
	...WARNED.map(([value, words]) => radio('warned', value, words, value === 'notTried')),
);

onSend('openForm', () => order({ kind: 'open', name: textOf('newName') }));
onSend('minutesForm', () => order({ kind: 'minutes', minutes: Number(textOf('otherMinutes')) }));
onSend('channelForm', () => order({ kind: 'channel', text: textOf('channelText') }));
onSend('homeForm', () => order({ kind: 'atHome', runId: textOf('homeRun') }));
onSend('placeForm', () => {
	const [name, far, high] = ['placeName', 'placeFar', 'placeHigh'].map(textOf);
	order({ kind: 'addPlace', text: `${name}, ${far ?? ''}, ${high ?? ''}` });
	for (const id of ['placeName', 'placeFar', 'placeHigh']) element(id, HTMLInputElement).value = '';
	element('placeName', HTMLInputElement).focus();
});
onSend('doorForm', () => {
	const address = chosen('way');
	if (address !== null)
		send({ type: 'openDoor', address, https: element('https', HTMLInputElement).checked });
});
onSend('noteForm', () => {
	const runId = check()?.walkToNote;
	const far = Number(textOf('walkFar').replace(',', '.'));
	const [warned] = WARNED.find(([value]) => value === chosen('warned')) ?? ['notTried' as const];
	if (runId != null) order({ kind: 'noteWalk', runId, note: { distanceM: far > 0 ? far : null, warned } });
});

function turnTo(where: Turn): void {
	turned = where;
	show();
	scrollTo(0, 0);
}

function press(id: string, action: () => void): void {
	element(id, HTMLButtonElement).onclick = action;
}

function onSend(id: string, action: () => void): void {
	element(id, HTMLFormElement).onsubmit = (event) => {
		event.preventDefault();
		action();
	};
}

function textOf(id: string): string {
	return element(id, HTMLInputElement).value.trim();
}

function button(words: string, action: () => void): HTMLButtonElement {
	const made = make('button', words);
	made.type = 'button';
	made.onclick = action;
	return made;
}
