/**
 * How much higher one curve lies than another, as a whole and with both runs' doubts: the least addition s such that for every level q
 *
 *     share of time that `here` is over q + s  <=  share of time that `home` is over q  +  left
 *
 * Then, whatever comes before either link and is the same for both, X + here is over a limit for at most `left` more of the time than X + home is over
 * the limit less s: there is a coupling of the two in which here <= home + s but for that share (Strassen's theorem for the usual order, from memory).
 *
 * Only quantiles with bounds are used. Between the levels that `home` is over for at least p(k) of the time, l(k), and for p(k+1), `here` must be over
 * l(k) + s for at most p(k+1) + left: a staircase, so that s is a little too large and never too small. Each bound is one-sided at 95 %, by itself.
 */
import { type LevelOptions, levelLower, levelUpper } from './guardBand.ts';
import { type LevelCurve, minLevel } from './levelCurve.ts';

/** One-sided 95 % of a normal draw. */
const Z_95 = 1.645;
/** Finest where the limits of time shares lie; a step costs what the home curve changes from one share to the next. */
const SHARES = [0.9, 0.75, 0.6, 0.45, 0.3, 0.2, 0.12, 0.06, 0.03, 0.01] as const;

export type Measured = { readonly curve: LevelCurve } & Omit<LevelOptions, 'allowedRatio' | 'confidence'>;

/** Of two runs; what they share is worked out once. */
export class CurveShift {
	readonly #here: Measured;
	/** Shares with the level that `home` is over for at least so long, from the lowest level up. */
	readonly #home: readonly { readonly shareRatio: number; readonly level: number }[];

	constructor(here: Measured, home: Measured) {
		this.#here = here;
		const lowest = minLevel(home.curve) + home.centreMs - Z_95 * home.standardMs;
		const steps = SHARES.flatMap((allowedRatio) => {
			const level = levelLower(home.curve, { ...bandOf(home), allowedRatio });
			return level === null ? [] : [{ shareRatio: allowedRatio, level }];
		});
		this.#home = [{ shareRatio: 1, level: lowest }, ...steps];
	}

	/**
	 * The addition that leaves at most that share, in ms; null where the curve `here` gives no bound that is needed. Never below 0: a link that is
	 * better here than at home is not credited with it. Throws `RangeError` for a share outside 0 to 1.
	 */
	leaving(leftRatio: number): number | null {
		if (!(leftRatio > 0 && leftRatio < 1))
			throw new RangeError(`a share lies between 0 and 1, got ${leftRatio}`);
		let added = 0;
		for (let k = 0; k < this.#home.length; k++) {
			const allowedRatio = (this.#home[k + 1]?.shareRatio ?? 0) + leftRatio;
			const upper =
				allowedRatio >= 1 ? null : levelUpper(this.#here.curve, { ...bandOf(this.#here), allowedRatio });
			if (upper === null && allowedRatio < 1) return null;
			if (upper !== null) added = Math.max(added, upper - this.#home[k]!.level);
		}
		return added;
	}
}

function bandOf({ curve: _curve, ...band }: Measured): Omit<Measured, 'curve'> {
	return band;
}
