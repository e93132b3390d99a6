/** What the decision rule says of one line, before it is known whether the run's rig must have it met. */
export type Decision = {
	readonly state: 'met' | 'notMet' | 'undecided' | 'notMeasured';
	readonly reading: number | null;
	/** 95 % one-sided, the rig's doubt included: the upper one, or the lower one where that is what says "not met". */
	readonly bound: number | null;
	/** The bound towards the limit, whatever the state, for the margin; null when the run gives none. */
	readonly boundTowardsLimit: number | null;
	readonly because: string;
	readonly settle: Settling;
};

/** How much longer a run would settle the line: about so many seconds more, or not at all. */
export type Settling = { readonly seconds: number | null; readonly longerWillSettle: boolean };

/** Settled, or nothing that a longer run would change. */
export const NO_LONGER: Settling = { seconds: null, longerWillSettle: false };

/** A figure between its one-sided bounds, as every line is decided; null: the run gives no such bound. */
export type Bounded = {
	readonly reading: number;
	readonly lower: number | null;
	readonly upper: number | null;
};

/** Whether the numbers can be what they say they are: finite, in order, and none below zero. */
export function holdsTogether({ reading, lower, upper }: Bounded): boolean {
	const inOrder = [lower ?? 0, reading, upper ?? reading];
	return inOrder.every(
		(value, i) => Number.isFinite(value) && value >= 0 && value >= (inOrder[i - 1] ?? 0) - ROUNDING,
	);
}
/** Bounds and readings come from different sums; their last bits may differ. */
const ROUNDING = 1e-9;

/** A line that must stay at or under its limit: met by the upper bound, not met by the lower, otherwise undecided. */
export function decideAtMost(figure: Bounded, limit: number): 'met' | 'notMet' | 'undecided' {
	if (!holdsTogether(figure) || !Number.isFinite(limit)) return 'undecided';
	if (figure.upper !== null && figure.upper <= limit) return 'met';
	if (figure.lower !== null && figure.lower > limit) return 'notMet';
	return 'undecided';
}

/** Undecided whatever the figure, for a reason of the run itself. */
export function undecided(
	because: string,
	figure: Bounded | null = null,
	settle: Settling = NO_LONGER,
): Decision {
	return {
		state: 'undecided',
		reading: finiteOrNull(figure?.reading ?? null),
		bound: finiteOrNull(figure?.upper ?? null),
		boundTowardsLimit: finiteOrNull(figure?.upper ?? null),
		because,
		settle,
	};
}

/** Decided, with the bound that decided it. */
export function decided(state: 'met' | 'notMet', figure: Bounded, because: string): Decision {
	return {
		state,
		reading: figure.reading,
		bound: state === 'notMet' ? figure.lower : figure.upper,
		boundTowardsLimit: figure.upper,
		because,
		settle: NO_LONGER,
	};
}

/** A metric that could not be made, with its own reason. */
export function notMeasured(explanation: string): Decision {
	return {
		state: 'notMeasured',
		reading: null,
		bound: null,
		boundTowardsLimit: null,
		because: explanation,
		settle: NO_LONGER,
	};
}

export const DOES_NOT_HOLD = 'the figures of this line do not hold together, so nothing is said from them';

function finiteOrNull(value: number | null): number | null {
	return value !== null && Number.isFinite(value) ? value : null;
}
