/** The header of a link run: known only when the viewer has said which end point it stamps. */
import {
	FORMAT,
	type Header,
	type PatchReference,
	type Systematic,
	VERSION,
} from '../../observations/records.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { cardPatches } from '../../pattern/patches.ts';
import { tryColourReading } from '../../reading/colourControl.ts';
import type { Hello } from './controlServer.ts';
import type { LinkOptions } from './link.ts';

/** Assumed, and named as assumed, only for the systematic of a viewer without a known display. */
const ASSUMED_DISPLAY_HZ = 60;

export function linkHeader(options: LinkOptions, hello: Hello, codec: string): Header {
	const { widthPx, heightPx } = cardGeometry(options.card);
	const { layout, seed, difficulty } = options.card;
	return {
		kind: 'header',
		format: FORMAT,
		version: VERSION,
		toolVersion: options.toolVersion,
		runId: options.runId,
		rig: 'link',
		subject: options.subject,
		place: options.place,
		joined: options.joined,
		profile: options.profile,
		startedAt: options.startedAt,
		measuringPoints: { source: 'generated', viewer: hello.viewerPoint },
		viewerClock: 'pinged',
		source: { layout, widthPx, heightPx, rateHz: options.rateHz, seed, difficulty },
		path: {
			transport: options.webrtc === null ? 'websocket' : 'webrtc',
			codec,
			bitrateKbps: options.bitrateKbps,
			keyEveryFrames: options.webrtc === null ? options.keyEveryFrames : null,
			air: options.air?.spec.name ?? null,
		},
		displayPeriodMs: hello.displayPeriodMs,
		viewerAgent: hello.userAgent,
		lostAfterMs: options.lostAfterMs,
		systematics: wayToGlass(hello),
		patches: patchReferences(options),
		colourControl: tryColourReading(options.card),
	};
}

export function patchReferences({ card }: LinkOptions): PatchReference[] {
	return cardPatches(card).map(({ name, role, rgb: [r, g, b] }) => ({ name, role, rgb: [r, g, b] }));
}

/**
 * What is missing from the viewer's stamp to the light, one draw a run. Decoded: 0 to 2 display periods (design 6).
 * Presented, that is drawn in an animation callback: lit at the display's next refresh, so 0 to 1 period.
 */
function wayToGlass({ viewerPoint, displayPeriodMs }: Hello): Systematic[] {
	const periodMs = displayPeriodMs ?? 1000 / ASSUMED_DISPLAY_HZ;
	const from =
		displayPeriodMs === null
			? `a display of ${ASSUMED_DISPLAY_HZ} Hz is assumed, none is known`
			: "the viewer's own display period";
	const periods = viewerPoint === 'decoded' ? 2 : 1;
	const missing = viewerPoint === 'decoded' ? 'decoded, not seen' : 'drawn for the next refresh, not yet lit';
	return [
		{
			name: 'way to the glass',
			halfWidthMs: (periods * periodMs) / 2,
			shape: 'oneSided',
			source: `${missing}: 0 to ${periods} display period${periods === 1 ? '' : 's'}; ${from}`,
		},
	];
}
