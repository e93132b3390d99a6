/** What the bench and its probe process say to each other. */
import { z } from 'zod';
import { failedSchema } from './childChannel.ts';

const index = z.number().int().nonnegative();
const instants = z.array(z.tuple([index, z.number()]));

export const toProbeSchema = z.discriminatedUnion('type', [
	/** `onlyHost`: candidates of this address alone; null: of every one. `seed` jitters the spacing. */
	z.object({
		type: z.literal('open'),
		perSecond: z.number().positive(),
		seed: index,
		onlyHost: z.string().nullable(),
	}),
	/** A viewer is there; the connection before is closed. */
	z.object({ type: z.literal('join'), link: index }),
	z.object({ type: z.literal('answer'), link: index, sdp: z.string() }),
]);

export const fromProbeSchema = z.discriminatedUnion('type', [
	z.object({ type: z.literal('open') }),
	z.object({ type: z.literal('offer'), link: index, sdp: z.string() }),
	z.object({ type: z.literal('connected'), link: index }),
	z.object({ type: z.literal('lost'), link: index, why: z.string() }),
	/** [number, CLOCK_MONOTONIC ms] of packets sent, and of packets got, since the last of these. */
	z.object({ type: z.literal('probed'), sent: instants, got: instants }),
	failedSchema,
]);
export type FromProbe = z.infer<typeof fromProbeSchema>;
