/**
 * The world failed: a file, a socket, a codec, a camera. Never a caller's mistake (`RangeError`, `TypeError`) and never
 * a measurement that could not be made (a value, `notMeasured`). Caught once, in `cli`.
 */
export class OutsideFailure extends Error {
	/** Stable, for tests and scripts; every code has a row in DEVELOPERS.md. */
	readonly code: string;
	/** One sentence of what to do next. */
	readonly advice: string;

	/** `happened`: one sentence of what happened. */
	constructor(code: string, happened: string, advice: string, options?: ErrorOptions) {
		super(happened, options);
		this.name = 'OutsideFailure';
		this.code = code;
		this.advice = advice;
	}
}
