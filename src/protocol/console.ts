/**
 * What the laptop's page and the console say to each other, as JSON text over a socket on this computer alone. The console
 * sends its whole state whenever something changed; the page only orders.
 */
import { z } from 'zod';
import { yardOrderSchema, yardStateSchema } from './yard.ts';

export const CONSOLE_SOCKET_PATH = '/console-socket';

/** How the two ends of a link may be joined: asked, and recorded in these words. */
export const JOININGS = {
	kitNetwork: 'the kit’s own network',
	wiredToAccessPoint: 'a shared access point, the laptop by cable',
	airToAccessPoint: 'a shared access point, both by Wi-Fi',
	laptopAccessPoint: 'the laptop as access point',
	thisComputer: 'both ends on this computer',
} as const;
const joining = z.enum([
	'kitNetwork',
	'wiredToAccessPoint',
	'airToAccessPoint',
	'laptopAccessPoint',
	'thisComputer',
]);
export type Joining = z.infer<typeof joining>;

export const RUN_PROFILES = ['demo', 'brief', 'verdict', 'long'] as const;
/** UDP that adapts, as most kits do; or TCP, where UDP is shut. */
export const RUN_TRANSPORTS = ['webrtc', 'websocket'] as const;
const fromConsolePageSchema = z.discriminatedUnion('type', [
	/** Let tablets in at this address. */
	z.object({ type: z.literal('openDoor'), address: z.string().max(60), https: z.boolean() }),
	z.object({
		type: z.literal('start'),
		profile: z.enum(RUN_PROFILES),
		transport: z.enum(RUN_TRANSPORTS),
		joining,
		place: z.string().max(200),
	}),
	z.object({ type: z.literal('stop') }),
	/** UDP does not pass: the run that waits for it begins again by WebSocket. */
	z.object({ type: z.literal('useWebSocket') }),
	/** Go through the list for home. */
	z.object({ type: z.literal('getReady') }),
	/** Of the yard check. */
	z.object({ type: z.literal('yard'), order: yardOrderSchema }),
]);
export type FromConsolePage = z.infer<typeof fromConsolePageSchema>;

const count = z.number().int().nonnegative();
const step = z.object({
	name: z.enum(['page', 'socket', 'udp', 'video']),
	state: z.enum(['done', 'now', 'later', 'failed', 'notNeeded']),
	title: z.string(),
	/** What is known, or the likely causes, in plain words. */
	words: z.array(z.string()),
});
export type LadderStep = z.infer<typeof step>;

const live = z.object({
	/** Over the last ten seconds; null before there is anything. */
	ageMeanMs: z.number().nullable(),
	ageP95Ms: z.number().nullable(),
	delayMedianMs: z.number().nullable(),
	/** P95 less P5 of the delay. */
	unevennessMs: z.number().nullable(),
	/** Of the run so far. */
	settledCount: count,
	lostCount: count,
	notDrawnCount: count,
	longestGapMs: z.number().nullable(),
	watchingCount: count,
	busyRatio: z.number().nullable(),
	loopDelayMs: z.number().nullable(),
	encodeMs: z.number().nullable(),
});
export type Live = z.infer<typeof live>;

const check = z.object({
	name: z.string(),
	state: z.enum(['pass', 'fail', 'running']),
	words: z.string(),
});
export type HomeCheck = z.infer<typeof check>;

export const runResult = z.object({
	runId: z.string(),
	fitness: z.enum(['steering', 'recording', 'unfit', 'undetermined']),
	headline: z.string(),
	order: z.string(),
	subject: z.string(),
	speaksFor: z.string(),
	roomLeft: z.string().nullable(),
	figures: z.array(z.tuple([z.string(), z.string()])),
	warnings: z.array(z.string()),
	reportUrl: z.string(),
});
export type RunResult = z.infer<typeof runResult>;

const consoleStateSchema = z.object({
	type: z.literal('state'),
	httpsPreferred: z.boolean(),
	ways: z.array(
		z.object({ name: z.string(), address: z.string(), kind: z.enum(['real', 'virtual', 'thisComputer']) }),
	),
	door: z
		.object({
			address: z.string(),
			https: z.boolean(),
			/** Null over http. */
			fingerprint: z.string().nullable(),
			certificateFile: z.string().nullable(),
			pairUrl: z.string(),
			code: z.string(),
			/** Rows of modules, `1` dark. */
			qr: z.array(z.string()),
			pairedCount: count,
			waitingCount: count,
			refused: z.string().nullable(),
			/** Set when a minute has gone without a tablet. */
			advice: z.array(z.string()),
		})
		.nullable(),
	ladder: z.array(step),
	/** UDP does not pass, or seems not to. */
	offersWebSocket: z.boolean(),
	/** What the tablet's browser lacks here, and what that costs. */
	costs: z.array(z.string()),
	run: z
		.object({
			runId: z.string(),
			stage: z.enum(['starting', 'waiting', 'warmUp', 'measuring', 'ending', 'judging']),
			observedMs: z.number(),
			targetMs: z.number(),
			live,
		})
		.nullable(),
	result: runResult.nullable(),
	trouble: z.object({ happened: z.string(), advice: z.string() }).nullable(),
	checks: z.array(check),
	yard: yardStateSchema,
});
export type ConsoleState = z.infer<typeof consoleStateSchema>;

/** A page's text as an order; null when it is none. */
export function readOrder(text: string): FromConsolePage | null {
	try {
		return fromConsolePageSchema.safeParse(JSON.parse(text)).data ?? null;
	} catch {
		return null;
	}
}

/** The console's text as its state; null when it is none. */
export function readState(text: string): ConsoleState | null {
	try {
		return consoleStateSchema.safeParse(JSON.parse(text)).data ?? null;
	} catch {
		return null;
	}
}
