/** The schema of a metric within a result document: measured with its figures, or not measured with its reason. */
import { z } from 'zod';
import type { NotMeasured } from '../metrics/metric.ts';

const notMeasuredSchema: z.ZodType<NotMeasured> = z.strictObject({
	kind: z.literal('notMeasured'),
	reason: z.string(),
	explanation: z.string(),
});

export function metric<const S extends z.ZodRawShape>(shape: S) {
	return z.union([z.strictObject({ kind: z.literal('measured'), ...shape }), notMeasuredSchema]);
}
