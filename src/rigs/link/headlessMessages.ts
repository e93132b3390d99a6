/** What the bench tells a headless viewer's process to begin with; all else goes over the two sockets, as with a page. */
import { z } from 'zod';
import { failedSchema } from '../../transports/childChannel.ts';

export const toHeadlessSchema = z.object({
	type: z.literal('view'),
	host: z.string(),
	controlPort: z.number().int().positive(),
	/** Jitters the samples. */
	seed: z.number().int().nonnegative(),
	/** Added to this machine's clock, so that the viewer's clock is truly another one. */
	clockAheadMs: z.number(),
});
export type HeadlessOrder = z.infer<typeof toHeadlessSchema>;

export const fromHeadlessSchema = failedSchema;
