/**
 * The waist: what every rig hands over, one JSON record a line, the header first.
 *
 * Numbers are milliseconds rounded to a thousandth. Instants of the source are on the run's reference clock. Instants of
 * the viewer (`decodedMs`, `seenMs`, `atMs` of patches and pictures) are on the viewer's own clock when the header says
 * `viewerClock: 'pinged'`, and `placeRun` puts them on the reference clock from the `pings`; the file keeps what was seen.
 *
 * Presented frames stand in the order in which they were seen. A file only ever grows at its end, so that a torn one
 * still holds everything up to the tear. Unknown kinds are kept and counted, never an error.
 */
import { z } from 'zod';
import { detailSchema } from './pictureDetail.ts';

export const FORMAT = 'steerworthy-observations';
export const VERSION = 1;

const ms = z.number();
const index = z.number().int().nonnegative();
const rgb = z.tuple([z.number(), z.number(), z.number()]);

/** What became of a frame that the source showed; every sent frame is in exactly one class. */
export const FATES = ['presented', 'notDrawn', 'unreadable', 'overtaken', 'late', 'lost'] as const;
export type Fate = (typeof FATES)[number];

/**
 * A systematic error of the whole run, one draw, in milliseconds of delay: true delay = reading + s.
 * `rectangular`: s lies in [-halfWidth, +halfWidth]. `oneSided`: s lies in [0, 2 halfWidth] (the way to the glass, say).
 */
const systematicSchema = z.object({
	name: z.string(),
	halfWidthMs: z.number().nonnegative(),
	shape: z.enum(['rectangular', 'oneSided']),
	source: z.string(),
});
export type Systematic = z.infer<typeof systematicSchema>;
/** Ends of the names of systematics that only the fast or only the ordinary films of an optical session carry. */
export const FAST_FILMS = ', fast clips';
export const ORDINARY_FILMS = ', ordinary clip';

/** Patches of the card as drawn: sRGB code values 0 to 255, in the order in which `patches` records list them. */
export const patchReferenceSchema = z.object({
	name: z.string(),
	role: z.enum(['neutral', 'primary', 'tissue', 'other']),
	rgb,
});
export type PatchReference = z.infer<typeof patchReferenceSchema>;

export const PROFILES = ['demo', 'brief', 'verdict', 'long', 'file'] as const;
export type ProfileName = (typeof PROFILES)[number];

const headerSchema = z.object({
	kind: z.literal('header'),
	format: z.literal(FORMAT),
	version: z.literal(VERSION),
	toolVersion: z.string(),
	runId: z.string().regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,79}$/),
	rig: z.enum(['link', 'optical', 'recording', 'still']),
	subject: z.object({
		kind: z.enum(['link', 'computer', 'kit', 'recording']),
		/** As a person would name it: "the tablet in the browser over WebSocket, air: clear". */
		name: z.string(),
		/** True for the invented kits of `rehearse`; shown wherever the subject is named. */
		invented: z.boolean(),
	}),
	place: z.string().nullable(),
	/** How the two ends were joined, in words; null when not asked. */
	joined: z.string().nullable(),
	profile: z.enum(PROFILES),
	/** Wall-clock label for people (ISO 8601). Never enters a measurement. */
	startedAt: z.string(),
	measuringPoints: z.object({
		source: z.enum(['generated', 'light', 'file']),
		viewer: z.enum(['presented', 'decoded', 'light', 'file']),
	}),
	viewerClock: z.enum(['reference', 'pinged']),
	source: z.object({
		layout: z.string(),
		widthPx: index,
		heightPx: index,
		rateHz: z.number().positive(),
		seed: index,
		difficulty: z.enum(['easy', 'hard', 'motion']),
	}),
	/** How the picture travelled: transport, codec, bitrate; null where it did not travel. */
	path: z
		.object({
			transport: z.string(),
			codec: z.string(),
			bitrateKbps: z.number().positive().nullable(),
			keyEveryFrames: index.nullable(),
			/** Name of the simulated air between the ends, null for real air. */
			air: z.string().nullable(),
		})
		.nullable(),
	/** Refresh period of the viewer's display; null when it is not known, never a default. */
	displayPeriodMs: z.number().positive().nullable(),
	/** What the viewer's browser calls itself: tells kinds of device apart, not devices. Left out: it does not say. */
	viewerAgent: z.string().max(500).optional(),
	/** A frame not seen within this time counts as lost (RFC 7679's Tmax). */
	lostAfterMs: z.number().positive(),
	systematics: z.array(systematicSchema),
	patches: z.array(patchReferenceSchema),
	/** Where the patches' colours come from: the card as drawn, a reference picture, or drawn yet nothing to judge by. Left out: drawn. */
	colourReference: z.enum(['drawn', 'picture', 'none']).optional(),
	/**
	 * The colour reading tried on the card itself, with no codec and no air between: CIEDE2000 that the reading adds. Colour faults are
	 * looked for only where this was done and is small. Left out: it was not done.
	 */
	colourControl: z
		.object({ medianDeltaE00: z.number(), maxDeltaE00: z.number(), how: z.string() })
		.optional(),
	/** Transfer curve of an HDR clip (BT.2100), whose codes are no colours that this version knows; left out: the usual one. */
	transfer: z.enum(['hlg', 'pq']).optional(),
	/** How much light the scope saw by, as the person said: a dark view can slow a camera down. Left out: not said. */
	light: z.enum(['bright', 'dim']).optional(),
});
export type Header = z.infer<typeof headerSchema>;

/** One frame: [frameNumber, dueMs, shownMs, fate as its place in FATES, decodedMs or null, seenMs or null]. */
const presentationRowSchema = z.tuple([
	index,
	ms,
	ms,
	z
		.number()
		.int()
		.min(0)
		.max(FATES.length - 1),
	ms.nullable(),
	ms.nullable(),
]);
export type PresentationRow = z.infer<typeof presentationRowSchema>;

/**
 * Of a sender: [atMs, handed over, encoded, sent, packets, packets sent again, encodeMs summed].
 * Of a viewer: [atMs, received, decoded, dropped, packets lost, bufferMs summed, buffered].
 */
export const streamCountsRowSchema = z.tuple([
	ms,
	index.nullable(),
	index.nullable(),
	index.nullable(),
	z.number().int().nullable(),
	z.number().nonnegative().nullable(),
	z.number().nonnegative().nullable(),
]);
export type StreamCountsRow = z.infer<typeof streamCountsRowSchema>;

export const recordSchemas = {
	header: headerSchema,
	/** A stretch of unbroken observation begins. Metrics count from `warmUpUntilMs` (reference clock). */
	segment: z.object({ kind: z.literal('segment'), segment: index, startMs: ms, warmUpUntilMs: ms }),
	/** It ends, and why: `runEnd`, `viewerSilent`, `viewerLeft`, `stopped`, … */
	segmentEnd: z.object({ kind: z.literal('segmentEnd'), segment: index, endMs: ms, reason: z.string() }),
	presentations: z.object({
		kind: z.literal('presentations'),
		segment: index,
		rows: z.array(presentationRowSchema),
	}),
	/** Four-stamp pings [t1, t2, t3, t4]: bench sends, viewer gets, viewer answers, bench gets; t2, t3 on the viewer's clock. */
	pings: z.object({
		kind: z.literal('pings'),
		segment: index,
		samples: z.array(z.tuple([ms, ms, ms, ms])),
		/** Step of the viewer's clock, null when unknown. */
		quantumMs: z.number().nonnegative().nullable(),
	}),
	/** Mean colours of the patches in one frame, sRGB codes. `decoded`: our own conversion of Y, U, V; `displayed`: the browser's. */
	patches: z.object({
		kind: z.literal('patches'),
		segment: index,
		frameNumber: index,
		atMs: ms,
		path: z.enum(['decoded', 'displayed']),
		rgb: z.array(rgb),
	}),
	/** Likeness of one frame's luma to the reference frame drawn again from its number. */
	picture: z.object({
		kind: z.literal('picture'),
		segment: index,
		frameNumber: index,
		atMs: ms,
		/** Mean squared error of luma codes; zero when identical (PSNR would be infinite). */
		meanSquaredError: z.number().nonnegative(),
		ssim: z.number(),
		ssimVariant: z.string(),
		/** Share of pixels that pixelmatch counts as different, and its difference picture in the run folder; null where not made. */
		mismatchRatio: z.number().nullable(),
		evidence: z.string().nullable(),
	}),
	/** Fine detail of one frame, from the same look as its patches. */
	detail: z.object({
		kind: z.literal('detail'),
		segment: index,
		frameNumber: index,
		atMs: ms,
		...detailSchema.shape,
	}),
	/**
	 * Ages of the picture on the viewer in filmed frames: [atMs, ageMs, halfWidthMs, weightMs], in order. `settled`: the presentations
	 * beside them are good to a fraction of a frame and stand for ages too. `coarse`: they are good to a frame, for gaps and rates only.
	 */
	ageSamples: z.object({
		kind: z.literal('ageSamples'),
		segment: index,
		pictures: z.enum(['settled', 'coarse']),
		/** sum G^2 / (2 sum G) of the segment: mean age less this is the content-weighted mean delay. */
		gapTermMs: ms,
		rows: z.array(z.tuple([ms, ms, ms, ms])),
	}),
	/**
	 * Probes: small numbered packets at jittered spacing on a way of their own beside the picture, one way a record, packed
	 * and unpacked by `probes.ts`. Instants are each end's own: sent on the sender's clock, received on the receiver's.
	 * Every packet sent stands in exactly one record of its way, in order of its number.
	 */
	probes: z.object({
		kind: z.literal('probes'),
		segment: index,
		way: z.enum(['toViewer', 'toBench']),
		/** Number of the first packet; the others follow without a gap. */
		firstSequence: index,
		firstSentMs: ms,
		/** From each packet's sending to the next one's, in microseconds; the first is 0. */
		sentAfterUs: z.array(z.number().int()),
		/** Received less sent, less this, is `beyondUs`; it holds the difference of the two clocks. */
		baseMs: ms,
		/** In microseconds; null: not received within the run's `lostAfterMs`. */
		beyondUs: z.array(z.number().int().nullable()),
	}),
	/**
	 * What an end of a WebRTC stream counts since the stream began, whole as its own statistics give it; a new stream starts
	 * again from 0. Null: this end does not say. `viewer`: on the viewer's clock. `bufferMs` is the sum over `buffered` pictures
	 * of their time in the jitter buffer, so that the difference of two rows gives the mean of the pictures between.
	 */
	streamCounts: z.object({
		kind: z.literal('streamCounts'),
		segment: index,
		end: z.enum(['sender', 'viewer']),
		rows: z.array(streamCountsRowSchema),
	}),
	/** How much of the printed card's line contrast each picture of a clip shows, while a lens is smeared and flushed: [atMs, contrast; 1 = as drawn]. */
	clarity: z.object({
		kind: z.literal('clarity'),
		segment: index,
		rows: z.array(z.tuple([ms, z.number()])).max(5000),
	}),
	/** What the bench's own machine did in the second before `atMs`. Null: this machine does not say. */
	harness: z.object({
		kind: z.literal('harness'),
		atMs: ms,
		busyRatio: z.number().nullable(),
		loopDelayMs: z.number().nullable(),
		encodeMs: z.number().nullable(),
	}),
	/** Something that happened: `repeated`, `outOfOrder`, `codeMismatch`, `viewerReturned`, … */
	event: z.object({
		kind: z.literal('event'),
		segment: index,
		atMs: ms,
		/** Whose clock `atMs` is on; left out: the reference clock, as when the bench itself stamped the event. */
		clock: z.enum(['reference', 'viewer']).optional(),
		code: z.string(),
		frameNumber: index.nullable(),
		detail: z.string().nullable(),
	}),
	/** The run came to its own end. A file without it is torn. */
	end: z.object({ kind: z.literal('end'), atMs: ms, reason: z.string() }),
} as const;

type RecordKind = keyof typeof recordSchemas;
export type ObservationRecord = { [K in RecordKind]: z.infer<(typeof recordSchemas)[K]> }[RecordKind];
