/**
 * The way from the scan to the picture, step by step: page, socket, UDP, video; and for a step that does not come, the
 * likely causes in plain words, likeliest first. Causes are experience and standards' text, not measurements: each says
 * what to try.
 */
import type { LadderStep } from '../protocol/console.ts';
import type { UdpState } from './udpTrial.ts';

export type WayHere = {
	/** Milliseconds since the code is shown, or since the last step was done. */
	readonly waitedMs: number;
	readonly https: boolean;
	readonly isPaired: boolean;
	readonly wasPageServed: boolean;
	readonly isSocketOpen: boolean;
	/** As it was tried, or as the run found it; `notNeeded`: this run does not use UDP. */
	readonly udp: UdpState | 'notNeeded';
	readonly isRunOn: boolean;
	readonly isVideoSeen: boolean;
};

/** A step that has not come by then gets its likely causes. */
const PATIENCE_MS = 15_000;
/** Without any tablet for so long, the whole list is told. */
export const NO_TABLET_AFTER_MS = 60_000;

const TITLES = {
	page: 'The tablet opens the page',
	socket: 'Tablet and laptop talk',
	udp: 'Small packets pass (UDP)',
	video: 'The picture arrives',
} as const;

export function ladderSteps(way: WayHere): LadderStep[] {
	const done = {
		page: way.wasPageServed,
		socket: way.isSocketOpen,
		udp: way.udp === 'open',
		video: way.isVideoSeen,
	};
	let isReached = true;
	return (['page', 'socket', 'udp', 'video'] as const).map((name) => {
		const title = TITLES[name];
		if (name === 'udp' && way.udp === 'notNeeded')
			return { name, state: 'notNeeded', title, words: ['Not used: this run travels by WebSocket (TCP).'] };
		if (done[name]) return { name, state: 'done', title, words: [] };
		if (!isReached || (NEEDS_RUN.has(name) && !way.isRunOn))
			return { name, state: 'later', title, words: NEEDS_RUN.has(name) && isReached ? [NOT_STARTED] : [] };
		isReached = false;
		const isFailed = way.waitedMs > PATIENCE_MS || (name === 'udp' && way.udp in NO_UDP);
		return { name, state: isFailed ? 'failed' : 'now', title, words: isFailed ? causesOf(name, way) : [] };
	});
}

/** Whether WebSocket is to be offered in its place. */
export function isUdpMissing(steps: readonly LadderStep[]): boolean {
	return steps.some(({ name, state }) => name === 'udp' && state === 'failed');
}

/** Known without waiting, and why. */
const NO_UDP: Readonly<Partial<Record<WayHere['udp'], string>>> = {
	shut: 'It was tried and did not pass: UDP is shut on this network. Go by WebSocket, which is labelled so in the report, or use another network.',
	noneThere: 'The tablet’s browser has no WebRTC for pages: go by WebSocket, or use another browser.',
	noneHere: 'This laptop has no WebRTC (an optional package is not there): go by WebSocket.',
};

/** This step comes only while a run is on. */
const NEEDS_RUN: ReadonlySet<LadderStep['name']> = new Set(['video']);
const NOT_STARTED = 'Comes when a run is started here and Start is tapped on the tablet.';

function causesOf(name: LadderStep['name'], { https, isPaired, udp, isRunOn }: WayHere): string[] {
	if (name === 'page')
		return [
			...(https
				? ['The tablet warns of an unknown certificate: compare the fingerprint below, then choose to go on.']
				: []),
			...(isPaired ? ['The code was taken, but the page did not load: load it again on the tablet.'] : []),
			'Tablet and laptop are on different networks: compare the network’s name on both.',
			'The tablet left a Wi-Fi that has no internet and went back to mobile data: switch mobile data off, or tell the tablet to stay.',
			'The access point keeps its guests apart (client isolation): use its main network, or the laptop as access point.',
			'The laptop’s firewall shuts the port: allow this program on private networks.',
		];
	if (name === 'socket')
		return [
			'The page opened and its connection did not: close other pages of this laptop on the tablet and load it again.',
			'A filter or content blocker on the tablet stops WebSocket: switch it off for this address.',
			'On some tablets the browser needs leave to use the local network: look in the settings, privacy, local network.',
		];
	if (name === 'udp') {
		const known = NO_UDP[udp];
		if (known !== undefined && udp !== 'shut') return [known];
		return [
			...(known === undefined ? [] : [known]),
			...(known === undefined && isRunOn
				? ['Start has not been tapped on the tablet, or its page is hidden.']
				: []),
			'The laptop’s firewall lets web pages through but not UDP: allow this program on private networks.',
			'The access point keeps its guests apart (client isolation).',
		];
	}
	return [
		'Start has not been tapped on the tablet, or its page is hidden.',
		'The tablet cannot decode the picture: its page says so, and what to do.',
		'The card would flicker over too much of the tablet’s screen: its page says so.',
	];
}

/** For the minute in which nothing at all has come. */
export function noTabletWords(address: string): string[] {
	return [
		`No tablet has come within a minute. On the tablet, is the Wi-Fi the one that this laptop has the address ${address} on?`,
		'Nothing opens: try another of this laptop’s networks in the list; the first that is not virtual is likeliest.',
		'Wi-Fi for guests often keeps devices apart. The kit’s own network, or the laptop as access point, does not.',
		'The camera does not read the square: type the address and the code by hand.',
		'The laptop’s firewall may be asking behind another window: allow private networks.',
	];
}

/** What a tablet's browser lacks over this way, and what that costs. */
export function costsOf(able: {
	videoDecoder: boolean;
	secureContext: boolean;
	wakeLock: boolean;
}): string[] {
	return [
		...(able.secureContext
			? []
			: ['Plain http: this tablet’s browser gives the page a coarser clock, which widens "give or take".']),
		...(able.videoDecoder
			? []
			: [
					'No video decoder for the page here: pictures travel as JPEG, each whole. A lost picture harms no other, and more data is sent than a kit would send.',
				]),
		...(able.wakeLock
			? []
			: [
					'The page cannot keep the screen awake: set the tablet’s own screen-off time to longer than the run.',
				]),
	];
}
