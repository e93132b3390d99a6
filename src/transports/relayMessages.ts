/** What the bench and its relay process say to each other. */
import { z } from 'zod';
import type { AirSpec } from '../simulation/airSpec.ts';
import { failedSchema } from './childChannel.ts';

const index = z.number().int().nonnegative();

export const toRelaySchema = z.discriminatedUnion('type', [
	z.object({
		type: z.literal('open'),
		host: z.string(),
		port: index,
		upstreamPort: index,
		/** Checked by whoever read it from a file; here only carried. */
		air: z.custom<AirSpec>((value) => typeof value === 'object' && value !== null),
		seed: index,
	}),
	/** Tell the rest of the log and end. */
	z.object({ type: z.literal('stop') }),
]);
export type ToRelay = z.infer<typeof toRelaySchema>;

/**
 * One chunk on its way to the viewer: [connection, inMs, plannedMs, outMs, bytes], CLOCK_MONOTONIC; planned is what the
 * air said, out is just before the chunk was written on.
 */
const relayRowSchema = z.tuple([index, z.number(), z.number(), z.number(), index]);
export type RelayRow = z.infer<typeof relayRowSchema>;

export const fromRelaySchema = z.discriminatedUnion('type', [
	z.object({ type: z.literal('open'), port: index }),
	/** The air's own zero: the first chunk of the first connection. */
	z.object({ type: z.literal('zero'), atMs: z.number() }),
	z.object({ type: z.literal('rows'), rows: z.array(relayRowSchema) }),
	z.object({ type: z.literal('stopped') }),
	failedSchema,
]);
export type FromRelay = z.infer<typeof fromRelaySchema>;
