/**
 * An end of the probe channel in Node: unordered, nothing sent again. Sends numbered packets at jittered spacing and notes
 * when; notes what it gets and when. A packet that the channel would have to queue is not sent at all, and has no number.
 */
import type { Instance } from 'simple-peer';
import { openProbePace, type ProbePace, packProbe, unpackProbe } from '../protocol/probePacket.ts';
import { monotonicMs, roundMs } from './monotonic.ts';

/** [number, ms]. */
type Instants = [number, number][];

/** More waiting than this: the way takes no more for now. */
const MOST_WAITING_BYTES = 4096;

export type ProbeTraffic = {
	/** Sends on this connection from now on, and listens to it. */
	use(peer: Instance): void;
	/** What was sent and got since the last call. */
	take(): { readonly sent: Instants; readonly got: Instants };
};

export type ProbeTrafficOptions = {
	readonly perSecond: number;
	/** Draws between 0 and 1. */
	readonly draw: () => number;
	/** Added to this machine's clock, for an end whose clock is another. */
	readonly aheadMs: number;
};

export function openProbeTraffic({ perSecond, draw, aheadMs }: ProbeTrafficOptions): ProbeTraffic {
	let current: Instance | null = null;
	let sequence = 0;
	let sent: Instants = [];
	let got: Instants = [];
	const nowMs = (): number => roundMs(monotonicMs() + aheadMs);

	const sendOn = (peer: Instance, pace: ProbePace): void => {
		if (current !== peer || peer.destroyed) return;
		if (peer.connected && peer.bufferSize < MOST_WAITING_BYTES) {
			const sentMs = nowMs();
			if (isSent(peer, packProbe(sequence))) sent.push([sequence++, sentMs]);
		}
		setTimeout(() => sendOn(peer, pace), pace.waitMs(monotonicMs()));
	};
	return {
		use(peer) {
			current = peer;
			peer.on('data', (data: Uint8Array) => {
				const gotMs = nowMs();
				const number = unpackProbe(data);
				if (number !== null && current === peer) got.push([number, gotMs]);
			});
			sendOn(peer, openProbePace(perSecond, draw, monotonicMs()));
		},
		take() {
			const taken = { sent, got };
			sent = [];
			got = [];
			return taken;
		},
	};
}

/** A channel may close between being asked and being used; its end is then told by the peer's own event. */
function isSent(peer: Instance, packet: Uint8Array): boolean {
	try {
		peer.send(packet);
		return true;
	} catch {
		return false;
	}
}

/** What makes a data channel one for probes. */
export const PROBE_CHANNEL = { ordered: false, maxRetransmits: 0 } as const;
