/**
 * What one look at a picture says of its detail: the part of the records that is about a single picture, whichever rig made it.
 */
import { z } from 'zod';

const axis = z.enum(['across', 'down']);
/**
 * Edges that move, in the card's own pixels and pictures. `earlierRatio`: share of what is seen that belongs to the four pictures before.
 * The pulse's place is across, drawn and seen.
 */
const motionSchema = z.object({
	edges: z
		.array(
			z.object({
				/** Pixels a picture of the card; 0: the same edge at rest. */
				speedPx: z.number().nonnegative(),
				mtf50CyPx: z.number().positive().nullable(),
				riseWidthPx: z.number().positive(),
			}),
		)
		.max(20),
	ghosts: z.array(z.object({ speedPx: z.number().positive(), earlierRatio: z.number() })).max(10),
	pulse: z.object({ drawnPx: z.number(), seenPx: z.number() }).nullable(),
});

/**
 * Fine detail of one picture: edges, lines, noise and light, as far as its card has them. `across`: along the rows. Edges and lines stand beside
 * what the same reading gives of the picture as it should be, where that is known. Light is linear, relative to white.
 */
export const detailSchema = z.object({
	edges: z
		.array(
			z.object({
				place: z.string().max(40),
				axis,
				mtf50CyPx: z.number().positive(),
				mtf10CyPx: z.number().positive().nullable(),
				overshootRatio: z.number().nonnegative(),
				referenceMtf50CyPx: z.number().positive().nullable(),
				/** Of a printed card: pixels to its millimetre there. */
				pxPerMm: z.number().positive().optional(),
				/** How far off the picture's middle, of the way to a corner. */
				fieldRatio: z.number().nonnegative().optional(),
			}),
		)
		.max(40),
	/** Contrast left of a group of lines, 1 = as drawn; no chroma where lines and ground were drawn of one hue. */
	lines: z
		.array(
			z.object({
				width: z.number().positive(),
				unit: z.enum(['px', 'mm']),
				axis,
				lumaRatio: z.number(),
				chromaRatio: z.number().nullable(),
				seen: z.boolean(),
				seenByColour: z.boolean(),
			}),
		)
		.max(60),
	/** Of even patches; temporal only where several pictures of one scene were given. */
	noise: z
		.array(
			z.object({
				patch: z.string().max(60),
				meanRatio: z.number(),
				temporalRatio: z.number().nullable(),
				fixedPatternRatio: z.number(),
				signalToNoiseRatio: z.number().nullable(),
				frozen: z.boolean(),
				/** Rows and columns that rise and fall together, standard deviation in linear light; of several pictures of one scene only. */
				banding: z.object({ rowsRatio: z.number(), columnsRatio: z.number() }).nullable().optional(),
				/** All of the patch gets lighter and darker by so much from picture to picture; of several pictures only. */
				waveringRatio: z.number().nullable().optional(),
			}),
		)
		.max(40),
	blockinessRatio: z.number().nullable(),
	chromaBleedRatio: z.number().nullable(),
	/** Light at the rim of the view over light in its middle. */
	rimLightRatio: z.number().nullable(),
	/** Of a printed card: how much of it a picture's width shows, and how far the lens bends the picture's corner (below 0: a barrel). */
	view: z
		.object({
			pxPerMm: z.number().positive(),
			widthMm: z.number().positive().nullable(),
			bendRatio: z.number(),
		})
		.optional(),
	/** How much light the scope saw this picture by, as the person said. Left out: not said. */
	light: z.enum(['bright', 'dim']).optional(),
	/** Of a card whose moving region holds edges at stated speeds: what is left of them. Left out: it holds none. */
	motion: motionSchema.optional(),
	/** Of a printed card at a stated distance from the lens: how it was seen. Left out: no distance was stated. */
	seenFrom: z
		.object({
			distanceMm: z.number().positive(),
			/** In the middle of the card. */
			pxPerMm: z.number().positive(),
			/** Half of the picture's width, on the card. */
			halfWidthMm: z.number().positive(),
		})
		.optional(),
});
export type PictureDetail = z.infer<typeof detailSchema>;
