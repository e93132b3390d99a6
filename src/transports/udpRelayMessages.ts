/** What the bench and its UDP relay process say to each other. */
import { z } from 'zod';
import type { AirSpec } from '../simulation/airSpec.ts';
import { failedSchema } from './childChannel.ts';

const index = z.number().int().nonnegative();

export const toUdpRelaySchema = z.discriminatedUnion('type', [
	z.object({
		type: z.literal('open'),
		host: z.string(),
		/** Where the viewer comes; 0 for any free port. */
		port: index,
		/** Checked by whoever read it from a file; here only carried. */
		air: z.custom<AirSpec>((value) => typeof value === 'object' && value !== null),
		seed: index,
		/** What is on its way when the air begins: the first picture packet, or the first packet of a data channel. */
		beginsAt: z.enum(['picture', 'data']),
	}),
	/** Another connection begins: whoever speaks next on either side is who it is for. */
	z.object({ type: z.literal('renew') }),
	/** Tell the rest of the log and end. */
	z.object({ type: z.literal('stop') }),
]);
export type ToUdpRelay = z.infer<typeof toUdpRelaySchema>;

/**
 * One packet: [way (0 to the viewer, 1 back), inMs, plannedMs or null, outMs or null, bytes, RTP time stamp or null, RTP payload
 * type or null], CLOCK_MONOTONIC; planned is what the air said, out is just before the packet was written on; null: the air lost
 * it. The last two are told of RTP packets alone: packets of one picture share the time stamp, and those sent again have a type of
 * their own.
 */
const udpRelayRowSchema = z.tuple([
	index,
	z.number(),
	z.number().nullable(),
	z.number().nullable(),
	index,
	index.nullable(),
	index.nullable(),
]);
export type UdpRelayRow = z.infer<typeof udpRelayRowSchema>;

export const fromUdpRelaySchema = z.discriminatedUnion('type', [
	z.object({ type: z.literal('open'), senderSidePort: index, viewerSidePort: index }),
	/** The air's own zero: the first packet of what it is for, on its way to the viewer. */
	z.object({ type: z.literal('zero'), atMs: z.number() }),
	z.object({ type: z.literal('rows'), rows: z.array(udpRelayRowSchema) }),
	z.object({ type: z.literal('stopped') }),
	failedSchema,
]);
export type FromUdpRelay = z.infer<typeof fromUdpRelaySchema>;
