/**
 * The control socket between bench and viewer (page or headless): JSON text, both ways, one message a frame.
 * It carries the clock, the plan and what the viewer saw. The picture has a socket of its own (`pictureSocket.ts`), so
 * that a ping never waits behind a picture, and so that a simulated air can stand in the picture's way alone.
 *
 * All viewer instants are on the viewer's own clock in milliseconds. A message that does not fit its schema is refused
 * with `refused` and the socket closed; what was already observed stays.
 */
import { z } from 'zod';
import { detailSchema } from '../observations/pictureDetail.ts';
import { patchReferenceSchema, streamCountsRowSchema } from '../observations/records.ts';

export const PROTOCOL_VERSION = 1;
/** Where the control socket is, on the host and port that serve the page. */
export const CONTROL_PATH = '/control';
/** A viewer's batch never exceeds this; a longer text is hostile or broken. */
export const MAX_CONTROL_CHARACTERS = 1_000_000;

const ms = z.number();
const index = z.number().int().nonnegative();
/**
 * Counts what a page has to tell, from 1: what was said again after a lost socket is known by it. Left out: never said again.
 */
const said = { n: index.optional() };
const rtcWay = z.enum(['picture', 'probe']);
/** A session description; a real one has a few thousand characters. */
const sessionText = z.string().max(50_000);

const toViewerSchema = z.discriminatedUnion('type', [
	/** First message: what will be shown, so that the page can check the flash rule before it starts. */
	z.object({
		type: z.literal('plan'),
		protocol: z.literal(PROTOCOL_VERSION),
		runId: z.string(),
		layout: z.string(),
		widthPx: index,
		heightPx: index,
		rateHz: z.number().positive(),
		seed: index,
		difficulty: z.enum(['easy', 'hard', 'motion']),
		codec: z.string(),
		/** `webrtc`: the picture comes as offered on this socket, and the picture socket is not opened. */
		transport: z.enum(['websocket', 'webrtc']),
		/** Mean number of probe packets a second, each way; null: no probe. */
		probePerSecond: z.number().positive().max(250).nullable(),
		/** Path and query of the picture socket, on the host that served the page unless a port is given. */
		picturePort: index,
		picturePath: z.string(),
		patches: z.array(patchReferenceSchema),
		/** Mean spacing of patch and picture samples; the viewer jitters it. */
		sampleEveryMs: z.number().positive(),
	}),
	z.object({ type: z.literal('ping'), id: index, t1: ms }),
	/** A WebRTC connection of the bench's making, whole with its candidates; a later `link` of the same way replaces it. */
	z.object({ type: z.literal('offer'), way: rtcWay, link: index, sdp: sessionText }),
	/** No run is on: the page stays and waits for a plan. */
	z.object({ type: z.literal('waiting') }),
	/** All that the viewer said up to this number has arrived: it need not be kept any longer. */
	z.object({ type: z.literal('got'), n: index }),
	/** The run is over: send what is left, then the kept frames, then `done`. */
	z.object({ type: z.literal('finish') }),
	z.object({ type: z.literal('refused'), reason: z.string() }),
]);
export type ToViewer = z.infer<typeof toViewerSchema>;

const fromViewerSchema = z.discriminatedUnion('type', [
	/** What the page can do and see of the way here; said whenever its socket opens, before any run. */
	z.object({
		type: z.literal('able'),
		videoDecoder: z.boolean(),
		secureContext: z.boolean(),
		wakeLock: z.boolean(),
		/** It can read a WebRTC picture, so the way for small packets may be tried. */
		webrtc: z.boolean(),
		userAgent: z.string().max(500),
	}),
	z.object({
		type: z.literal('hello'),
		protocol: z.literal(PROTOCOL_VERSION),
		/** Null: the browser does not say. Never a default. */
		displayPeriodMs: z.number().positive().nullable(),
		/** Step of the viewer's clock as observed; null when not known. */
		clockQuantumMs: z.number().nonnegative().nullable(),
		userAgent: z.string().max(500),
		/** Which end point this viewer can stamp. */
		viewerPoint: z.enum(['presented', 'decoded']),
		decoder: z.string().max(100),
		/** One loaded page, so that one which lost its socket is known again; left out: it never comes back as the same. */
		page: z.string().max(60).optional(),
		/** Wants to look on; steers nothing and is in no figure. */
		watching: z.boolean().optional(),
	}),
	/** Answers a person's start: the viewer is ready for pictures (after the one tap, the flash rule kept). */
	z.object({ type: z.literal('ready') }),
	/** The page looks no longer (hidden, turned, clock stopped); `ready` says that it looks again, by a clock to be fitted anew. */
	z.object({ type: z.literal('away'), code: z.string().max(60), ...said }),
	/** The last number said so far, answered by `got`. What was not answered is said again after a lost socket. */
	z.object({ type: z.literal('mark'), n: index }),
	z.object({ type: z.literal('pong'), id: index, t2: ms, t3: ms }),
	z.object({ type: z.literal('answer'), way: rtcWay, link: index, sdp: sessionText }),
	/** As in the record of the same name, on the viewer's clock. */
	z.object({ type: z.literal('streamCounts'), rows: z.array(streamCountsRowSchema).max(500) }),
	/** Probe packets that this viewer sent, and that it got: [number, instant on its own clock]. */
	z.object({
		type: z.literal('probed'),
		...said,
		sent: z.array(z.tuple([index, ms])).max(2000),
		got: z.array(z.tuple([index, ms])).max(2000),
	}),
	/**
	 * Frames seen, in the order seen: [number in the packet (null: there are no numbered packets), number read from the picture or null if unreadable,
	 * receivedMs (when the page first had it in hand), decodedMs or null where the browser does not say, presentedMs or null if it was replaced before
	 * the display drew it]. Without number, decodedMs and presentedMs: a picture that the browser counted and the page was never shown.
	 */
	z.object({
		type: z.literal('seen'),
		...said,
		rows: z.array(z.tuple([index.nullable(), index.nullable(), ms, ms.nullable(), ms.nullable()])).max(2000),
	}),
	z.object({
		type: z.literal('patches'),
		...said,
		frameNumber: index,
		atMs: ms,
		path: z.enum(['decoded', 'displayed']),
		rgb: z.array(z.tuple([z.number(), z.number(), z.number()])).max(200),
	}),
	z.object({
		type: z.literal('picture'),
		...said,
		frameNumber: index,
		atMs: ms,
		meanSquaredError: z.number().nonnegative(),
		ssim: z.number(),
		ssimVariant: z.string().max(60),
	}),
	z.object({ type: z.literal('detail'), ...said, frameNumber: index, atMs: ms, ...detailSchema.shape }),
	z.object({
		type: z.literal('event'),
		...said,
		atMs: ms,
		code: z.string().max(60),
		frameNumber: index.nullable(),
		detail: z.string().max(500).nullable(),
	}),
	/** After `finish`: the least like frame that was sampled, its planes follow as one binary message on this socket. */
	z.object({ type: z.literal('keptFrame'), frameNumber: index, byteLength: index }),
	z.object({ type: z.literal('done') }),
]);
export type FromViewer = z.infer<typeof fromViewerSchema>;

export type Reading<T> =
	| { readonly kind: 'message'; readonly message: T }
	| { readonly kind: 'refused'; readonly reason: string };

/** A viewer's text as a message, or why it is refused: too long, not JSON, or not of any known form. */
export function readFromViewer(text: string): Reading<FromViewer> {
	return readMessage(text, fromViewerSchema);
}

/** The bench's text as a message, or why the viewer refuses it. */
export function readToViewer(text: string): Reading<ToViewer> {
	return readMessage(text, toViewerSchema);
}

function readMessage<T>(text: string, schema: z.ZodType<T>): Reading<T> {
	if (text.length > MAX_CONTROL_CHARACTERS)
		return { kind: 'refused', reason: `longer than ${MAX_CONTROL_CHARACTERS} characters` };
	const value = parseJson(text);
	if (value === undefined) return { kind: 'refused', reason: 'not JSON' };
	const result = schema.safeParse(value);
	if (result.success) return { kind: 'message', message: result.data };
	const issue = result.error.issues[0];
	return {
		kind: 'refused',
		reason: `${issue?.path.join('.') || 'message'}: ${issue?.message ?? 'does not fit'}`,
	};
}

/** Undefined, which JSON cannot say, where the text is not JSON. */
function parseJson(text: string): unknown {
	try {
		return JSON.parse(text);
	} catch {
		return undefined;
	}
}
