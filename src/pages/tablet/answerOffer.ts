/** Answers a connection that the bench offers, whole with this device's candidates. */
import type { FromViewer, ToViewer } from '../../protocol/control.ts';

/** Candidates of this device are there by then, or the answer goes without them: the other end's are enough. */
const GATHER_WITHIN_MS = 1500;

export async function answerOffer(
	connection: RTCPeerConnection,
	{ way, link, sdp }: Extract<ToViewer, { type: 'offer' }>,
	say: (message: FromViewer) => void,
): Promise<void> {
	await connection.setRemoteDescription({ type: 'offer', sdp });
	await connection.setLocalDescription(await connection.createAnswer());
	await gathered(connection);
	say({ type: 'answer', way, link, sdp: connection.localDescription?.sdp ?? '' });
}

function gathered(connection: RTCPeerConnection): Promise<void> {
	return new Promise((resolve) => {
		const look = (): void => {
			if (connection.iceGatheringState === 'complete') resolve();
		};
		connection.addEventListener('icegatheringstatechange', look);
		setTimeout(resolve, GATHER_WITHIN_MS);
		look();
	});
}
