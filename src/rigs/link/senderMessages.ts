/** What the bench and its sender process say to each other, over the channel between the two processes. */
import { z } from 'zod';
import { LIVE_FORMATS } from '../../media/node/liveEncoder.ts';
import { streamCountsRowSchema } from '../../observations/records.ts';
import { CARD_SIZES, LAYOUTS } from '../../pattern/card.ts';
import { failedSchema } from '../../transports/childChannel.ts';
import { RTC_CODECS } from '../../transports/sdpText.ts';

const index = z.number().int().nonnegative();

export const cardSchema = z.object({
	layout: z.enum(LAYOUTS),
	size: z.enum(CARD_SIZES),
	seed: index.max(0xffffffff),
	difficulty: z.enum(['easy', 'hard', 'motion']),
});

/** Encoded pictures that the sender throws away before the socket, for benches of loss: by share, or by number. */
const dropSchema = z.discriminatedUnion('kind', [
	z.object({ kind: z.literal('none') }),
	z.object({ kind: z.literal('share'), ratio: z.number().min(0).max(1), seed: index }),
	z.object({ kind: z.literal('frames'), frameNumbers: z.array(index) }),
]);
export type DropPictures = z.infer<typeof dropSchema>;

const openSchema = z.object({
	type: z.literal('open'),
	card: cardSchema,
	rateHz: z.number().positive(),
	keyEveryFrames: index.min(1),
	/** Of the pictures on the picture socket. */
	format: z.enum(LIVE_FORMATS),
	bitrateKbps: z.number().positive(),
	host: z.string(),
	port: index,
	path: z.string(),
	/** PEM texts; null: plain. */
	tls: z.object({ key: z.string(), cert: z.string() }).nullable(),
	drop: dropSchema,
	/** Over WebRTC; null: encoded here, and served on a picture socket. */
	webrtc: z
		.object({
			codec: z.enum(RTC_CODECS),
			pinned: z.boolean(),
			/** Only by way of this address of this machine; null: any. */
			onlyHost: z.string().nullable(),
		})
		.nullable(),
});
export type SenderSettings = z.infer<typeof openSchema>;

export const toSenderSchema = z.discriminatedUnion('type', [
	openSchema,
	/** Start painting. */
	z.object({ type: z.literal('begin') }),
	/** WebRTC: a viewer is there, and is to be offered a connection of this number; its answer; it is gone. */
	z.object({ type: z.literal('join'), link: index }),
	z.object({ type: z.literal('answer'), link: index, sdp: z.string() }),
	z.object({ type: z.literal('leave') }),
	/** Another viewer looks on over a connection of this number; looks on no longer. */
	z.object({ type: z.literal('watch'), link: index }),
	z.object({ type: z.literal('unwatch'), link: index }),
]);

/**
 * One frame as it left: `dueMs` and `shownMs` on CLOCK_MONOTONIC; `shownMs` is the instant at which the finished raster
 * was handed to the encoder. Over WebRTC `key` is never set: nobody says it. `endByte`: bytes on the viewer's connection up to this picture's end; null without a viewer
 * or when the picture was dropped.
 */
const sentFrameSchema = z.object({
	frameNumber: index,
	dueMs: z.number(),
	shownMs: z.number(),
	/** Null where the encoder does not say it of each picture. */
	encodeMs: z.number().nullable(),
	key: z.boolean(),
	byteCount: index.nullable(),
	dropped: z.boolean(),
	viewerCount: index,
	endByte: index.nullable(),
});
export type SentFrame = z.infer<typeof sentFrameSchema>;

export const fromSenderSchema = z.discriminatedUnion('type', [
	/** `codec`: the stream's codec name as a browser's decoder wants it. */
	z.object({ type: z.literal('open'), port: index, codec: z.string() }),
	z.object({ type: z.literal('frame'), frame: sentFrameSchema }),
	z.object({ type: z.literal('viewers'), viewerCount: index, came: z.boolean(), atMs: z.number() }),
	z.object({ type: z.literal('offer'), link: index, sdp: z.string() }),
	/** WebRTC: the connection stands, or stands no longer. */
	z.object({ type: z.literal('connected'), link: index }),
	z.object({ type: z.literal('streamLost'), link: index, why: z.string() }),
	z.object({ type: z.literal('counts'), row: streamCountsRowSchema }),
	z.object({
		type: z.literal('event'),
		atMs: z.number(),
		code: z.string(),
		frameNumber: index.nullable(),
		detail: z.string().nullable(),
	}),
	failedSchema,
]);
export type FromSender = z.infer<typeof fromSenderSchema>;
