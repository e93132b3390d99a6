/** Answers the laptop's trial of the way for small packets while no run is on: a connection that carries nothing. */
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import { answerOffer } from './answerOffer.ts';

export type UdpAnswer = { offered(offer: Extract<ToViewer, { type: 'offer' }>): void; close(): void };

export function openUdpAnswer(say: (message: FromViewer) => void): UdpAnswer {
	let connection: RTCPeerConnection | null = null;
	const close = (): void => {
		connection?.close();
		connection = null;
	};
	return {
		offered(offer) {
			close();
			if (offer.way !== 'probe' || typeof RTCPeerConnection === 'undefined') return;
			const mine = new RTCPeerConnection({ iceServers: [] });
			connection = mine;
			answerOffer(mine, offer, (message) => {
				if (connection === mine) say(message);
			}).catch(() => mine.close());
		},
		close,
	};
}
