/** An instant on the run's reference clock, in milliseconds from the clock's own zero. Made only by `referenceMs`. */
export type ReferenceMs = number & { readonly clock: 'reference' };

/** The one door by which a number becomes an instant, so that NaN and Infinity stay outside. */
export function referenceMs(value: number): ReferenceMs {
	if (!Number.isFinite(value)) throw new RangeError(`an instant must be a finite number, got ${value}`);
	return value as ReferenceMs;
}
