/**
 * The yard check as the laptop's page and the console speak of it: what a person may do, and the check as it stands, in words that
 * are ready to be shown. The page works nothing out.
 */
import { z } from 'zod';

const place = z.number().int().nonnegative();
const text = z.string().max(200);

/** What verdict/yardActs.ts knows, and besides: which check, and its runs. */
export const yardOrderSchema = z.discriminatedUnion('kind', [
	/** A new check (empty: a name is given), or one that was left. */
	z.object({ kind: z.literal('open'), name: z.string().max(60) }),
	z.object({ kind: z.literal('leave') }),
	/** Begins the run that is next. */
	z.object({ kind: z.literal('measure'), transport: z.enum(['webrtc', 'websocket']) }),
	z.object({ kind: z.literal('atHome'), runId: text }),
	z.object({ kind: z.literal('wifi'), wifi: z.enum(['kit', 'shared', 'laptop', 'shutOut']) }),
	z.object({ kind: z.literal('minutes'), minutes: z.number() }),
	z.object({ kind: z.literal('addPlace'), text }),
	z.object({ kind: z.literal('dropPlace'), place }),
	z.object({ kind: z.literal('rename'), place, name: text }),
	z.object({ kind: z.literal('placesNamed') }),
	z.object({ kind: z.literal('channel'), text }),
	z.object({
		kind: z.literal('want'),
		run: z.enum(['visit', 'verdict', 'company', 'walk', 'endurance']),
		place,
	}),
	z.object({
		kind: z.literal('noteWalk'),
		runId: text,
		note: z.object({
			distanceM: z.number().positive().nullable(),
			warned: z.enum(['yes', 'no', 'notTried']),
		}),
	}),
	z.object({ kind: z.literal('stop') }),
	z.object({ kind: z.literal('goOn') }),
	z.object({ kind: z.literal('backAtKit') }),
]);
export type YardOrder = z.infer<typeof yardOrderSchema>;

const section = z.object({ title: z.string(), items: z.array(z.string()) });

const checkSchema = z.object({
	name: z.string(),
	startedAt: z.string(),
	step: z.enum([
		...['askWifi', 'askMinutes', 'askPlaces', 'askChannel', 'filmInstead'],
		...['visit', 'verdict', 'company', 'walk', 'endurance', 'backToKit', 'done'],
	] as const),
	wifiWords: z.array(z.tuple([z.string(), z.string()])),
	places: z.array(z.object({ name: z.string(), where: z.string(), runs: z.string() })),
	/** The next run: where, what and for how long. */
	next: z.object({ place, name: z.string(), words: z.string() }).nullable(),
	plan: z.array(z.string()),
	roles: z.array(z.string()),
	/** What to change on the channel. */
	channel: z.array(z.string()),
	film: z.array(z.string()),
	/** All that is known; the answer first. */
	sections: z.array(section),
	frame: z.enum(['steering', 'unfit', 'undetermined']),
	/** A walk whose distance was not noted. */
	walkToNote: z.string().nullable(),
	isMeasuring: z.boolean(),
	isStopped: z.boolean(),
	home: z.string().nullable(),
	backToKit: z.array(z.string()),
	/** The one page to show or print. */
	pageUrl: z.string(),
});
export type YardCheck = z.infer<typeof checkSchema>;

export const yardStateSchema = z.object({
	/** Checks that are kept, the newest first. */
	kept: z.array(z.object({ name: z.string(), startedAt: z.string(), isDone: z.boolean() })),
	check: checkSchema.nullable(),
	/** Why the last order was not done. */
	refused: z.string().nullable(),
});
export type YardState = z.infer<typeof yardStateSchema>;
