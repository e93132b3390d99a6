/** What a link run is made of besides its viewer: the sender, the relay where an air is asked for, the control socket. */
import type { OutsideFailure } from '../../failure.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { PROTOCOL_VERSION, type ToViewer } from '../../protocol/control.ts';
import { type Relay, startRelay } from '../../transports/relay.ts';
import type { RelayLog } from '../../transports/relayLog.ts';
import { type ControlEvents, type ControlServer, openControlServer } from './controlServer.ts';
import type { LinkOptions } from './link.ts';
import { relayLost } from './linkFailures.ts';
import { patchReferences } from './linkHeader.ts';
import { type Sender, type SenderEvents, startSender } from './sender.ts';

export type LinkParts = {
	readonly sender: Sender;
	readonly control: ControlServer;
	/** Ends the relay and gives its log; null without one. */
	endRelay(): Promise<RelayLog | null>;
	/** Ends everything; never fails. */
	close(): Promise<void>;
};

export type PartsEvents = {
	readonly sender: Omit<SenderEvents, 'lost'>;
	readonly control: ControlEvents;
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
		const { host, controlPort: port, pagesFolder, door } = options;
		const plan = () => planOf(options, sender.codec, relay?.port ?? sender.port);
		const control = await openControlServer({ host, port, pagesFolder, door, plan }, events.control);
		closers.push(() => control.close());
		return { sender, control, endRelay: async () => (await relay?.stop()) ?? null, close };
	} catch (failure) {
		await close();
		throw failure;
	}
}

/** Behind a relay the sender takes any free port: the viewer comes to the relay's. */
function openSender(options: LinkOptions, { sender: events, lost }: PartsEvents): Promise<Sender> {
	const { card, rateHz, bitrateKbps, keyEveryFrames, host, picturePort, picturePath, drop, air, tls } =
		options;
	const port = air === null ? picturePort : 0;
	const settings = { card, rateHz, bitrateKbps, keyEveryFrames, host, port, path: picturePath, tls, drop };
	return startSender(settings, { ...events, lost });
}

async function openRelay(
	{ air, host, picturePort }: LinkOptions,
	upstreamPort: number,
	lost: PartsEvents['lost'],
): Promise<Relay | null> {
	if (air === null) return null;
	return startRelay({ air, host, port: picturePort, upstreamPort, onLost: () => lost(relayLost()) });
}

function planOf(options: LinkOptions, codec: string, picturePort: number): ToViewer {
	const { runId, card, rateHz, sampleEveryMs } = options;
	const { layout, seed, difficulty } = card;
	const { widthPx, heightPx } = cardGeometry(card);
	return {
		type: 'plan',
		protocol: PROTOCOL_VERSION,
		...{ runId, layout, widthPx, heightPx, rateHz, seed, difficulty, codec, picturePort, sampleEveryMs },
		picturePath: options.picturePath,
		patches: patchReferences(options),
	};
}
