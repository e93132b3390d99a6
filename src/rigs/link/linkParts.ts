/** What a link run is made of besides its viewer: the sender, the relay where an air is asked for, the control socket. */
import type { OutsideFailure } from '../../failure.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { PROTOCOL_VERSION, type ToViewer } from '../../protocol/control.ts';
import { type Probe, type ProbeEvents, startProbe } from '../../transports/probe.ts';
import { type Relay, startRelay } from '../../transports/relay.ts';
import type { RelayLog } from '../../transports/relayLog.ts';
import { startUdpRelay, type UdpRelay, type UdpRelayLog } from '../../transports/udpRelay.ts';
import { type ControlEvents, type ControlServer, openControlServer } from './controlServer.ts';
import type { LinkOptions } from './link.ts';
import { relayLost } from './linkFailures.ts';
import { patchReferences } from './linkHeader.ts';
import { type Sender, type SenderEvents, startSender } from './sender.ts';

export type LinkParts = {
	readonly sender: Sender;
	readonly control: ControlServer;
	/** Of a WebRTC run with an air. */
	readonly udpRelay: UdpRelay | null;
	/** Ends the relay and gives its log; null without one of that kind. */
	endRelay(): Promise<RelayLog | null>;
	endUdpRelay(): Promise<UdpRelayLog | null>;
	readonly probe: Probe | null;
	readonly probeRelay: UdpRelay | null;
	endProbeRelay(): Promise<UdpRelayLog | null>;
	/** Ends everything; never fails. */
	close(): Promise<void>;
};

export type PartsEvents = {
	readonly sender: Omit<SenderEvents, 'lost'>;
	readonly control: ControlEvents;
	readonly probe: Omit<ProbeEvents, 'gone'>;
	/** A part ended by itself. */
	readonly lost: (failure: OutsideFailure) => void;
};

/** Opens all parts or none; throws the failing part's own `OutsideFailure`. */
export async function openParts(options: LinkOptions, events: PartsEvents): Promise<LinkParts> {
	const closers: (() => unknown)[] = [];
	const close = async () => {
		for (const closeOne of closers.splice(0).reverse()) await Promise.resolve(closeOne()).catch(() => {});
	};
	try {
		const sender = await openSender(options, events);
		closers.push(() => sender.stop());
		const relay = await openRelay(options, sender.port, events.lost);
		closers.push(() => relay?.stop());
		const udpRelay = await openUdpRelay(options, events.lost);
		closers.push(() => udpRelay?.stop());
		const probe = await openProbe(options, events);
		closers.push(() => probe?.stop());
		const probeRelay = probe === null ? null : await openProbeRelay(options, events.lost);
		closers.push(() => probeRelay?.stop());
		const { host, controlPort: port, pagesFolder, door } = options;
		const plan = () => planOf(options, sender.codec, relay?.port ?? sender.port);
		const control = await openControlServer({ host, port, pagesFolder, door, plan }, events.control);
		closers.push(() => control.close());
		const endRelay = async () => (await relay?.stop()) ?? null;
		const endUdpRelay = async () => (await udpRelay?.stop()) ?? null;
		const endProbeRelay = async () => (await probeRelay?.stop()) ?? null;
		const ends = { endRelay, endUdpRelay, endProbeRelay };
		return { sender, control, udpRelay, probe, probeRelay, ...ends, close };
	} catch (failure) {
		await close();
		throw failure;
	}
}

/** Behind a relay the sender takes any free port: the viewer comes to the relay's. */
function openSender(options: LinkOptions, { sender: events, lost }: PartsEvents): Promise<Sender> {
	const { card, rateHz, bitrateKbps, keyEveryFrames, format } = options;
	const { host, picturePort, picturePath, drop, air, tls } = options;
	const webrtc = options.webrtc === null ? null : { ...options.webrtc, onlyHost: onlyHostOf(options) };
	const port = air === null ? picturePort : 0;
	const settings = {
		card,
		rateHz,
		bitrateKbps,
		keyEveryFrames,
		host,
		port,
		path: picturePath,
		tls,
		drop,
		webrtc,
		format,
	};
	return startSender(settings, { ...events, lost });
}

async function openRelay(
	{ air, host, picturePort, webrtc }: LinkOptions,
	upstreamPort: number,
	lost: PartsEvents['lost'],
): Promise<Relay | null> {
	if (air === null || webrtc !== null) return null;
	return startRelay({ air, host, port: picturePort, upstreamPort, onLost: () => lost(relayLost()) });
}

async function openUdpRelay(
	{ air, host, picturePort, webrtc }: LinkOptions,
	lost: PartsEvents['lost'],
): Promise<UdpRelay | null> {
	if (air === null || webrtc === null) return null;
	return startUdpRelay({
		air,
		host,
		port: picturePort,
		beginsAt: 'picture',
		onLost: () => lost(relayLost()),
	});
}

/** Behind a relay the way is the relay's; on this machine alone, any of its addresses is as good. */
function onlyHostOf({ air, host }: LinkOptions): string | null {
	return air === null && !isThisMachine(host) ? host : null;
}

async function openProbe(options: LinkOptions, { probe: events, lost }: PartsEvents): Promise<Probe | null> {
	const { probePerSecond: perSecond, seed } = options;
	if (perSecond === null) return null;
	return startProbe({ perSecond, seed, onlyHost: onlyHostOf(options) }, { ...events, gone: lost });
}

async function openProbeRelay(
	{ air, host }: LinkOptions,
	lost: PartsEvents['lost'],
): Promise<UdpRelay | null> {
	if (air === null) return null;
	return startUdpRelay({ air, host, port: 0, beginsAt: 'data', onLost: () => lost(relayLost()) });
}

function isThisMachine(host: string): boolean {
	return host.startsWith('127.') || host === '::1' || host === 'localhost' || host === '0.0.0.0';
}

function planOf(options: LinkOptions, codec: string, picturePort: number): ToViewer {
	const { runId, card, rateHz, sampleEveryMs } = options;
	const { layout, seed, difficulty } = card;
	const { widthPx, heightPx } = cardGeometry(card);
	return {
		type: 'plan',
		protocol: PROTOCOL_VERSION,
		...{ runId, layout, widthPx, heightPx, rateHz, seed, difficulty, codec, picturePort, sampleEveryMs },
		transport: options.webrtc === null ? 'websocket' : 'webrtc',
		probePerSecond: options.probePerSecond,
		picturePath: options.picturePath,
		patches: patchReferences(options),
	};
}
