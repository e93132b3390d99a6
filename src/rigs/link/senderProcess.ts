/**
 * The source of the link rig, in a process of its own: paints the card, hands each frame to its outlet (which encodes it), and tells the bench
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

import type { Planes } from '../../imaging/planes.ts';
import type { CardPainter } from '../../pattern/cardPainter.ts';
import { createCardPainter } from '../../pattern/painter.ts';
import { onParentMessage, tellParent } from '../../transports/childChannel.ts';
import { monotonicMs, roundMs, waitUntil } from '../../transports/monotonic.ts';
import { createDropPlan } from './dropPlan.ts';
import { openOutlet, type PictureOutlet } from './pictureOutlet.ts';
import { type FromSender, type SenderSettings, toSenderSchema } from './senderMessages.ts';

const FELL_BEHIND_MS = 1000;
/** First frame: a moment after `begin`, so that it is not late by the time of hearing it. */
const LEAD_MS = 50;
/** More waiting than this for one viewer is worth telling: a second of pictures at the default bitrate. */
const BACKLOG_BYTES = 1_000_000;

type Source = {
	readonly settings: SenderSettings;
	readonly painter: CardPainter;
	readonly outlet: PictureOutlet;
	backlogTold: boolean;
};

let source: Source | null = null;

onParentMessage(toSenderSchema, async (order) => {
	if (order.type === 'open') source = await open(order);
	else if (source === null) return;
	else if (order.type === 'join') source.outlet.join(order.link);
	else if (order.type === 'answer') source.outlet.answer(order.link, order.sdp);
	else if (order.type === 'leave') source.outlet.leave();
	else if (order.type === 'watch') source.outlet.watch(order.link);
	else if (order.type === 'unwatch') source.outlet.unwatch(order.link);
	else await stream(source);
});

async function open(settings: SenderSettings): Promise<Source> {
	const painter = createCardPainter(settings.card);
	const outlet = await openOutlet(settings, painter, report);
	report({ type: 'open', port: outlet.port, codec: outlet.codec });
	return { settings, painter, outlet, backlogTold: false };
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
	const { waitingBytes, ...shown } = state.outlet.show(planes, frameNumber, dropped);
	report({
		type: 'frame',
		frame: { frameNumber, dueMs: roundMs(dueMs), shownMs: roundMs(shownMs), dropped, ...shown },
	});
	if (!dropped) watchBacklog(state, waitingBytes, frameNumber);
}

/** Told when it begins and again only after it has gone. */
function watchBacklog(state: Source, waitingBytes: number, frameNumber: number): void {
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
