/** What is found out before the one tap: how this browser can see the picture, its display's rate, its clock's step. */
import { observeClockQuantumMs, observeDisplayPeriodMs } from '../../media/web/browserTiming.ts';
import { canDecode, JPEG_CODEC } from '../../media/web/pictureDecoder.ts';
import { canReadTracks } from '../../media/web/trackReader.ts';
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import { PROTOCOL_VERSION } from '../../protocol/control.ts';
import { canKeepAwake } from './screenAwake.ts';

export type Plan = Extract<ToViewer, { type: 'plan' }>;
type Hello = Extract<FromViewer, { type: 'hello' }>;
type Able = Extract<FromViewer, { type: 'able' }>;

const AGENT = navigator.userAgent.slice(0, 500);

/** What this browser gives a page over this way here. */
export function ability(): Able {
	return {
		type: 'able',
		videoDecoder: typeof VideoDecoder !== 'undefined',
		secureContext: isSecureContext,
		wakeLock: canKeepAwake(),
		webrtc: canReadTracks(),
		userAgent: AGENT,
	};
}

/** Why this browser cannot see the picture of this plan, and what to do; null where it can. */
export async function objectionTo({ transport, codec }: Plan): Promise<string | null> {
	if (transport === 'webrtc')
		return canReadTracks()
			? null
			: 'This browser does not let a page read a WebRTC picture frame by frame. Choose WebSocket on the laptop, and try again.';
	return (await canDecode(codec))
		? null
		: 'This browser cannot decode the picture here. Choose https on the laptop, or use a current browser, and try again.';
}

/** Looks at the display for a second. */
export async function introduce(
	{ transport, codec }: Plan,
	{ page, watching }: { readonly page: string; readonly watching: boolean },
): Promise<Hello> {
	return {
		type: 'hello',
		protocol: PROTOCOL_VERSION,
		displayPeriodMs: await observeDisplayPeriodMs(),
		clockQuantumMs: observeClockQuantumMs(),
		userAgent: AGENT,
		viewerPoint: 'presented',
		decoder: transport === 'webrtc' ? 'WebRTC' : codec === JPEG_CODEC ? 'createImageBitmap' : 'VideoDecoder',
		page,
		watching,
	};
}
