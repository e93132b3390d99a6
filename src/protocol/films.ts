/** What the laptop's page for films and the console say to each other: an order to judge the files kept, and how far that has come. */
import { z } from 'zod';
import { runResult } from './console.ts';

const MOST_FILMS = 20;
const MOST_LETTERS = 200;

const order = z.strictObject({
	kit: z.string().max(MOST_LETTERS),
	place: z.string().max(MOST_LETTERS),
	/** Names that the console gave when it kept the files: of both screens. */
	films: z
		.array(z.string().max(MOST_LETTERS))
		.min(1, 'Give at least one film of both screens.')
		.max(MOST_FILMS),
	/** The kit's own recording of the card. */
	recording: z.string().max(MOST_LETTERS).nullable(),
	turnedAsMeant: z.boolean(),
});
export type FilmOrder = z.infer<typeof order>;

const state = z.discriminatedUnion('stage', [
	z.strictObject({ stage: z.literal('idle') }),
	z.strictObject({ stage: z.literal('reading'), words: z.string() }),
	z.strictObject({ stage: z.literal('failed'), words: z.string() }),
	z.strictObject({ stage: z.literal('done'), result: runResult }),
]);
export type FilmState = z.infer<typeof state>;

/** Throws `RangeError` with what is wrong. */
export function readFilmOrder(body: unknown): FilmOrder {
	const read = order.safeParse(body);
	if (read.success) return read.data;
	throw new RangeError(read.error.issues[0]?.message ?? 'This is no order to judge films.');
}

/** Null for what is none. */
export function readFilmState(answer: unknown): FilmState | null {
	const read = state.safeParse(answer);
	return read.success ? read.data : null;
}
