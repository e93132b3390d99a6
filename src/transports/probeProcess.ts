/**
 * The bench's end of the probe, in a process and a connection of its own, so that neither the picture's encoder nor its
 * congestion control stands in the way of a packet.
 */
import type { Instance } from 'simple-peer';
import { createRandom } from '../statistics/random.ts';
import { onParentMessage, tellParent } from './childChannel.ts';
import { openProbeTraffic, PROBE_CHANNEL, type ProbeTraffic } from './probeChannel.ts';
import { type FromProbe, toProbeSchema } from './probeMessages.ts';
import { withOnlyAddress } from './sdpText.ts';
import { repeatUnevenly } from './unevenly.ts';
import { openWebrtc, type Webrtc } from './webrtc.ts';

const REPORT_EVERY_MS = 250;

type Probe = { readonly webrtc: Webrtc; readonly traffic: ProbeTraffic; readonly onlyHost: string | null };

let probe: Probe | null = null;
let current: { readonly link: number; readonly peer: Instance } | null = null;

onParentMessage(toProbeSchema, async (order) => {
	if (order.type === 'open') {
		const random = createRandom(order.seed);
		const { perSecond, onlyHost } = order;
		const traffic = openProbeTraffic({ perSecond, draw: () => random.next(), aheadMs: 0 });
		probe = { webrtc: await openWebrtc(), traffic, onlyHost };
		repeatUnevenly(REPORT_EVERY_MS, tellTraffic);
		report({ type: 'open' });
	} else if (order.type === 'join') join(order.link);
	else if (current?.link === order.link) current.peer.signal({ type: 'answer', sdp: order.sdp });
});

function join(link: number): void {
	if (probe === null) return;
	const { webrtc, traffic, onlyHost } = probe;
	const before = current;
	current = null;
	before?.peer.destroy();
	const peer = webrtc.openPeer({ initiator: true, channelConfig: PROBE_CHANNEL });
	const mine = { link, peer };
	current = mine;
	let why = 'closed';
	peer.on('signal', (signal) => {
		if (signal.type !== 'offer' || signal.sdp === undefined) return;
		report({
			type: 'offer',
			link,
			sdp: onlyHost === null ? signal.sdp : withOnlyAddress(signal.sdp, onlyHost),
		});
	});
	peer.on('connect', () => {
		report({ type: 'connected', link });
		traffic.use(peer);
	});
	peer.on('error', (error) => {
		why = error.message.slice(0, 200);
	});
	peer.on('close', () => {
		if (current === mine) report({ type: 'lost', link, why });
	});
}

function tellTraffic(): void {
	const { sent, got } = probe?.traffic.take() ?? { sent: [], got: [] };
	if (sent.length > 0 || got.length > 0) report({ type: 'probed', sent, got });
}

function report(message: FromProbe): void {
	tellParent(message);
}
