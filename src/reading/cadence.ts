/**
 * The scope's own cadence, from the ticks of the pictures that were shown: which slot of its clock each picture fills, how long a
 * slot is, and how many slots were never seen.
 *
 * Slots are counted with a slow phase tracker: rounding each gap by itself slips at every wrap of the beat between scope and
 * screen (estimators.md A3, computed). A slot not seen is a picture lost on its way, whoever lost it. A refresh that the laptop missed makes
 * one picture read a tick too old: half a slot at 30 pictures a second on 60 Hz, where rounding alone puts it into the slot before. So does a picture
 * that was read as a mean with the one after it (briefPictures.ts), the other way.
 */

export type Cadence = {
	/** Slot of each picture, from 0; the same for two readings of one picture. */
	readonly slots: Int32Array;
	/** Ticks of a slot, and of slot 0. */
	readonly slotTicks: number;
	readonly firstTick: number;
	/** Root mean square distance of the readings from the line, in ticks: the beat's saw teeth (at most 0.29) and jitter. */
	readonly residual: number;
	/** False: the pictures do not come at a rate of their own, and lost slots cannot be counted. */
	readonly stable: boolean;
};

const GAIN = 0.12;
const LEAST_STEP = 0.3;
/** Saw teeth of an even beat leave 0.29 ticks (uniform); a reading in the wrong slot leaves more. */
const MOST_RESIDUAL_TICKS = 0.42;
const MOST_RESIDUAL_SLOTS = 0.3;
const LEAST_PICTURES = 10;
/** Of a slot: pictures this far apart are two, and have a slot each where one beside them is empty. */
const NEARLY_NEXT = 0.25;

/** `ticks`: of the pictures, in the order seen. Null with fewer than ten. */
export function findCadence(ticks: ArrayLike<number>): Cadence | null {
	if (ticks.length < LEAST_PICTURES) return null;
	let slotTicks = firstGuess(ticks);
	if (slotTicks === null) return null;
	let slots = numberSlots(ticks, slotTicks);
	let line = regress(slots, ticks);
	for (let round = 0; round < 4; round++) {
		slotTicks = line.slope;
		slots = numberSlots(ticks, slotTicks);
		line = regress(slots, ticks);
	}
	const most = Math.min(MOST_RESIDUAL_TICKS, Math.max(0.2, MOST_RESIDUAL_SLOTS * line.slope));
	const stable = line.residual <= most && line.slope > LEAST_STEP;
	return { slots, slotTicks: line.slope, firstTick: line.offset, residual: line.residual, stable };
}

/** Mean of the steps that are no longer than one and a half times the median one. */
function firstGuess(ticks: ArrayLike<number>): number | null {
	const steps: number[] = [];
	for (let i = 1; i < ticks.length; i++) {
		const step = ticks[i]! - ticks[i - 1]!;
		if (step > LEAST_STEP) steps.push(step);
	}
	if (steps.length < LEAST_PICTURES - 1) return null;
	const median = [...steps].sort((a, b) => a - b)[steps.length >> 1]!;
	const usual = steps.filter((step) => step <= 1.55 * median);
	return usual.reduce((sum, step) => sum + step, 0) / usual.length;
}

function numberSlots(ticks: ArrayLike<number>, slotTicks: number): Int32Array {
	const slots = new Int32Array(ticks.length);
	let phase = ticks[0]!;
	for (let i = 1; i < ticks.length; i++) {
		const ahead = slotsAhead(ticks, i, { phase, slotTicks });
		slots[i] = slots[i - 1]! + ahead;
		phase += ahead * slotTicks;
		phase += GAIN * (ticks[i]! - phase);
	}
	return slots;
}

/** Slots from the picture before to picture `i`: the nearest one, unless that is a neighbour's and the one beside it is empty. */
function slotsAhead(
	ticks: ArrayLike<number>,
	i: number,
	{ phase, slotTicks }: { readonly phase: number; readonly slotTicks: number },
): number {
	const slotsOn = (place: number) => Math.max(0, Math.round((ticks[place]! - phase) / slotTicks));
	const nearest = slotsOn(i);
	if (i + 1 >= ticks.length) return nearest;
	const next = slotsOn(i + 1);
	const apart = NEARLY_NEXT * slotTicks;
	if (nearest === 0 && next >= 2 && ticks[i]! - Math.max(phase, ticks[i - 1]!) > apart) return 1;
	if (nearest >= 2 && next === nearest && ticks[i + 1]! - ticks[i]! > apart) return nearest - 1;
	return nearest;
}

function regress(
	slots: Int32Array,
	ticks: ArrayLike<number>,
): { offset: number; slope: number; residual: number } {
	const count = slots.length;
	let [sumX, sumY, sumXX, sumXY] = [0, 0, 0, 0];
	for (let i = 0; i < count; i++) {
		sumX += slots[i]!;
		sumY += ticks[i]!;
		sumXX += slots[i]! ** 2;
		sumXY += slots[i]! * ticks[i]!;
	}
	const spread = sumXX - (sumX * sumX) / count;
	const slope = spread > 0 ? (sumXY - (sumX * sumY) / count) / spread : 0;
	const offset = (sumY - slope * sumX) / count;
	let squares = 0;
	for (let i = 0; i < count; i++) squares += (ticks[i]! - offset - slope * slots[i]!) ** 2;
	return { offset, slope, residual: Math.sqrt(squares / count) };
}
