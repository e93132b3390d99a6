/**
 * The tablet's end of the probe: a connection of its own whose channel keeps no order and sends nothing again. It answers
 * with numbered packets at the same mean rate, at jittered spacing, and tells when it sent and got which.
 */
import type { ToViewer } from '../../protocol/control.ts';
import { openProbePace, type ProbePace, packProbe, unpackProbe } from '../../protocol/probePacket.ts';
import { answerOffer } from './answerOffer.ts';
import type { ControlSocket } from './controlSocket.ts';

const REPORT_EVERY_MS = 400;
/** More waiting than this: the way takes no more for now, and such a packet is not sent and has no number. */
const MOST_WAITING_BYTES = 4096;
const MOST_ROWS = 2000;

type Offer = Extract<ToViewer, { type: 'offer' }>;
type Instants = [number, number][];

export type ProbeEnd = { offered(offer: Offer): void; close(): void };

/** Answers are of no use later; what was sent and got is kept until it has arrived, so that no packet is lost by a socket that was away. */
export function openProbeEnd(
	perSecond: number,
	{ say, tell }: Pick<ControlSocket, 'say' | 'tell'>,
): ProbeEnd {
	let connection: RTCPeerConnection | null = null;
	let sequence = 0;
	let sent: Instants = [];
	let got: Instants = [];
	let reportTimer = 0;

	const sendOn = (channel: RTCDataChannel, pace: ProbePace): void => {
		if (channel.readyState !== 'open') return;
		if (channel.bufferedAmount < MOST_WAITING_BYTES) {
			sent.push([sequence, performance.now()]);
			channel.send(packProbe(sequence++).slice());
		}
		setTimeout(() => sendOn(channel, pace), pace.waitMs(performance.now()));
	};
	const use = (channel: RTCDataChannel): void => {
		channel.binaryType = 'arraybuffer';
		channel.onmessage = ({ data }) => {
			const gotMs = performance.now();
			const number = data instanceof ArrayBuffer ? unpackProbe(new Uint8Array(data)) : null;
			if (number !== null) got.push([number, gotMs]);
		};
		const begin = (): void => sendOn(channel, openProbePace(perSecond, Math.random, performance.now()));
		if (channel.readyState === 'open') begin();
		else channel.onopen = begin;
	};
	const report = (): void => {
		if (sent.length > 0 || got.length > 0)
			tell({ type: 'probed', sent: sent.slice(0, MOST_ROWS), got: got.slice(0, MOST_ROWS) });
		sent = sent.slice(MOST_ROWS);
		got = got.slice(MOST_ROWS);
		reportTimer = window.setTimeout(report, REPORT_EVERY_MS * (0.5 + Math.random()));
	};
	report();

	return {
		offered(offer) {
			connection?.close();
			const mine = new RTCPeerConnection({ iceServers: [] });
			connection = mine;
			mine.ondatachannel = ({ channel }) => use(channel);
			answerOffer(mine, offer, (message) => {
				if (connection === mine) say(message);
			}).catch(() => mine.close());
		},
		close() {
			window.clearTimeout(reportTimer);
			connection?.close();
			connection = null;
		},
	};
}
