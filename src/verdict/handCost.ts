/**
 * What delay costs the hand: how much longer a reach to a target is predicted to take, and how far a tip goes before its
 * picture shows it. Explanation beside a result, never a criterion.
 *
 * MacKenzie and Ware 1993, mouse pointing, 8 people, lags of 8.3 to 225 ms (published, second hand):
 *
 *     time = 230 + (169 + 1.03 lag) ID,  ID = log2(distance / width + 1) bits
 *
 * Beyond 225 ms it is carried on outside its data and says so. Errors are the study's measured table, read between its rows;
 * beyond its last row none is told.
 */
const INTERCEPT_MS = 230;
const SLOPE_MS_PER_BIT = 169;
const SLOPE_PER_LAG_MS = 1.03;
/** The least lag that the study had: half a frame of a 60 Hz display. */
const LEAST_LAG_MS = 8.3;
const GREATEST_LAG_MS = 225;

/** The study's table: lag, share of misses. */
const ERRORS: readonly (readonly [lagMs: number, errorRatio: number])[] = [
	[8.3, 0.036],
	[25, 0.036],
	[75, 0.049],
	[225, 0.113],
];

export type HandCost = {
	readonly movementMs: number;
	/** Against the same reach at the study's least lag. */
	readonly slowingRatio: number;
	/** Share of misses in the study at that lag; null beyond its data. */
	readonly errorRatio: number | null;
	readonly extrapolated: boolean;
};

/** For a reach of `idBits` of difficulty; throws `RangeError` for a lag below 0 or a difficulty of 0 or less. */
export function handCost(lagMs: number, idBits: number): HandCost {
	if (!(lagMs >= 0 && Number.isFinite(lagMs)))
		throw new RangeError(`a lag of 0 or more is needed, got ${lagMs}`);
	if (!(idBits > 0)) throw new RangeError(`a difficulty above 0 bits is needed, got ${idBits}`);
	const movementMs = movementOf(lagMs, idBits);
	return {
		movementMs,
		slowingRatio: movementMs / movementOf(LEAST_LAG_MS, idBits),
		errorRatio: errorOf(lagMs),
		extrapolated: lagMs > GREATEST_LAG_MS,
	};
}

/** How far the tip goes, unseen, while the picture is so old. */
export function blindTravelMm(lagMs: number, speedMmPerS: number): number {
	return (speedMmPerS * lagMs) / 1000;
}

/** What a person may choose: how hard the reach is, and how fast the tip goes. */
export type HandChoice = { readonly difficultyBits: number; readonly tipSpeedsMmPerS: readonly number[] };
/** A reach to a target a fifteenth as wide as the way to it is long; a slow, a usual and a hasty tip (own choice, no source). */
export const USUAL_HAND: HandChoice = { difficultyBits: 4, tipSpeedsMmPerS: [10, 20, 50] };
const MOST_SPEED_MM_PER_S = 1000;
const MOST_SPEEDS = 6;
const MOST_BITS = 10;

/** Throws `RangeError`, in words for a person, where the choice is none that the table can be made for. */
export function checkHandChoice({ difficultyBits, tipSpeedsMmPerS }: HandChoice): void {
	if (!(difficultyBits > 0 && difficultyBits <= MOST_BITS))
		throw new RangeError(
			`the difficulty is a number of bits above 0, up to ${MOST_BITS}; got ${difficultyBits}`,
		);
	if (tipSpeedsMmPerS.length < 1 || tipSpeedsMmPerS.length > MOST_SPEEDS)
		throw new RangeError(`1 to ${MOST_SPEEDS} tip speeds are needed, got ${tipSpeedsMmPerS.length}`);
	const wrong = tipSpeedsMmPerS.find((speed) => !(speed > 0 && speed <= MOST_SPEED_MM_PER_S));
	if (wrong !== undefined)
		throw new RangeError(`a tip speed is above 0, up to ${MOST_SPEED_MM_PER_S} mm/s; got ${wrong}`);
}

export type HandRow = HandCost & {
	readonly name: string;
	readonly delayMs: number;
	/** In the order of the speeds. */
	readonly blindTravelMm: readonly number[];
};

/** The cost of a median delay and of its P95. A reading below zero, by the clocks' doubt, counts as none. */
export function handRows(
	{ medianMs, p95Ms }: { readonly medianMs: number; readonly p95Ms: number },
	choice: HandChoice,
): HandRow[] {
	checkHandChoice(choice);
	return [
		{ name: 'half of the time', delayMs: Math.max(0, medianMs) },
		{ name: '19 times in 20', delayMs: Math.max(0, p95Ms) },
	].map(({ name, delayMs }) => ({
		...{ name, delayMs },
		...handCost(delayMs, choice.difficultyBits),
		blindTravelMm: choice.tipSpeedsMmPerS.map((speed) => blindTravelMm(delayMs, speed)),
	}));
}

function movementOf(lagMs: number, idBits: number): number {
	return INTERCEPT_MS + (SLOPE_MS_PER_BIT + SLOPE_PER_LAG_MS * lagMs) * idBits;
}

function errorOf(lagMs: number): number | null {
	const above = ERRORS.findIndex(([at]) => at >= lagMs);
	const [toMs, toRatio] = ERRORS[above] ?? [0, 0];
	const before = ERRORS[above - 1];
	if (above < 0) return null;
	if (before === undefined) return toRatio;
	const [fromMs, fromRatio] = before;
	return fromRatio + ((toRatio - fromRatio) * (lagMs - fromMs)) / (toMs - fromMs);
}
