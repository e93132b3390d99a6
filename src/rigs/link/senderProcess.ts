/**
 * The source of the link rig, in a process of its own: paints the card, encodes each frame, serves it, and tells the bench
 * of every frame when it was due and when it was shown.
 *
 * Shown means: the finished raster is handed to the encoder. The raster is painted ahead, in the pause before its due
 * instant, as a scene is there before a camera looks; so painting is not in any delay, and encoding is. Instants are
 * CLOCK_MONOTONIC milliseconds, which every process of this machine shares.
 *
 * Frames are due on a fixed grid and numbers are never skipped: a late frame is shown late, and says so. Only when the
 * machine is more than a second behind does the grid begin anew (`sourceFellBehind`), so that an overload shows as
 * lateness and a lower rate and not as an ever-growing delay of its own.
 */

import { OutsideFailure } from '../../failure.ts';
import type { Planes } from '../../imaging/planes.ts';
import { type H264Encoder, h264CodecString, openH264Encoder } from '../../media/node/h264Encoder.ts';
import type { CardPainter } from '../../pattern/cardPainter.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { createCardPainter } from '../../pattern/painter.ts';
import { onParentMessage, tellParent } from '../../transports/childChannel.ts';
import { monotonicMs, roundMs, waitUntil } from '../../transports/monotonic.ts';
import { openPictureServer, type PictureSent, type PictureServer } from '../../transports/pictureServer.ts';
import { createDropPlan } from './dropPlan.ts';
import { type FromSender, type SenderSettings, toSenderSchema } from './senderMessages.ts';

const FELL_BEHIND_MS = 1000;
/** First frame: a moment after `begin`, so that it is not late by the time of hearing it. */
const LEAD_MS = 50;
/** More waiting than this for one viewer is worth telling: a second of pictures at the default bitrate. */
const BACKLOG_BYTES = 1_000_000;
/** Pictures painted and encoded before the first that counts, so that compiling is not measured. */
const REHEARSAL_PICTURES = 20;

type Source = {
	readonly settings: SenderSettings;
	readonly painter: CardPainter;
	readonly encoder: H264Encoder;
	readonly server: PictureServer;
	/** Set when a viewer came: it cannot begin in the middle of predicted pictures. */
	keyWanted: boolean;
	backlogTold: boolean;
};

let source: Source | null = null;

onParentMessage(toSenderSchema, async (order) => {
	if (order.type === 'open') source = await open(order);
	else if (source !== null) await stream(source);
});

async function open(settings: SenderSettings): Promise<Source> {
	const { card, rateHz, bitrateKbps, keyEveryFrames } = settings;
	const { widthPx, heightPx } = cardGeometry(card);
	const painter = createCardPainter(card);
	const encoder = await openH264Encoder({ widthPx, heightPx, rateHz, bitrateKbps, keyEveryFrames });
	const codec = rehearse(painter, encoder);
	const server = await openPictureServer(settings, (viewerCount, came) => {
		if (source !== null && came) source.keyWanted = true;
		report({ type: 'viewers', viewerCount, came, atMs: roundMs(monotonicMs()) });
	});
	report({ type: 'open', port: server.port, codec });
	return { settings, painter, encoder, server, keyWanted: true, backlogTold: false };
}

function rehearse(painter: CardPainter, encoder: H264Encoder): string {
	let codec: string | null = null;
	for (let i = 0; i < REHEARSAL_PICTURES; i++) {
		const { bytes } = encoder.encode(painter.paintPlanes(i), i === 0);
		codec ??= h264CodecString(bytes);
	}
	if (codec === null)
		throw new OutsideFailure(
			'encoderFailed',
			'The H.264 encoder made no picture that says what it is.',
			'Install the optional packages again.',
		);
	return codec;
}

async function stream(state: Source): Promise<void> {
	const { settings, painter } = state;
	const periodMs = 1000 / settings.rateHz;
	const isDropped = createDropPlan(settings.drop);
	let gridStartMs = monotonicMs() + LEAD_MS;
	let gridFrame = 0;
	for (let frameNumber = 0; ; frameNumber++) {
		const planes = painter.paintPlanes(frameNumber);
		let dueMs = gridStartMs + gridFrame++ * periodMs;
		const behindMs = monotonicMs() - dueMs;
		if (behindMs > FELL_BEHIND_MS) {
			tellEvent('sourceFellBehind', frameNumber, `${Math.round(behindMs)} ms behind; the grid begins anew`);
			gridStartMs = monotonicMs();
			gridFrame = 1;
			dueMs = gridStartMs;
		}
		await waitUntil(dueMs);
		show(state, { frameNumber, dueMs, planes, dropped: isDropped(frameNumber) });
	}
}

type DueFrame = {
	readonly frameNumber: number;
	readonly dueMs: number;
	readonly planes: Planes;
	readonly dropped: boolean;
};

function show(state: Source, { frameNumber, dueMs, planes, dropped }: DueFrame): void {
	const shownMs = monotonicMs();
	const { key, bytes } = state.encoder.encode(planes, state.keyWanted);
	const encodeMs = monotonicMs() - shownMs;
	state.keyWanted = false;
	const sent = dropped ? null : state.server.send({ frameNumber, key, bytes });
	report({
		type: 'frame',
		frame: {
			frameNumber,
			dueMs: roundMs(dueMs),
			shownMs: roundMs(shownMs),
			encodeMs: roundMs(encodeMs),
			key,
			byteCount: bytes.length,
			dropped,
			viewerCount: state.server.viewerCount,
			endByte: sent?.endByte ?? null,
		},
	});
	if (sent !== null) watchBacklog(state, sent, frameNumber);
}

/** Told when it begins and again only after it has gone. */
function watchBacklog(state: Source, { waitingBytes }: PictureSent, frameNumber: number): void {
	if (waitingBytes <= BACKLOG_BYTES) {
		if (waitingBytes === 0) state.backlogTold = false;
		return;
	}
	if (!state.backlogTold)
		tellEvent('senderBacklog', frameNumber, `${waitingBytes} bytes wait for the viewer's socket`);
	state.backlogTold = true;
}

function tellEvent(code: string, frameNumber: number, detail: string): void {
	report({ type: 'event', atMs: roundMs(monotonicMs()), code, frameNumber, detail });
}

function report(message: FromSender): void {
	tellParent(message);
}
