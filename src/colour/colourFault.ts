/**
 * Names the fault that explains how the seen patches differ from the drawn ones, or says that none is to be seen, or that none
 * known explains it. A fault is named only when it leaves less than two fifths of the mean difference (CIEDE2000), and the
 * simplest of those that do about as well. A change of light, alike in every channel, is no fault and goes before any that explains no more. The limits are this project's own, held to by tests on real encoders.
 * Chroma that bleeds over edges does not show in the middle of a patch: it is a reading of its own (reading/chromaBleed.ts).
 */
import { deltaE00 } from './deltaE00.ts';
import { exactFaults, type FaultKind, type FaultModel, fittedFaults, otherLight } from './faultModels.ts';
import type { Rgb } from './rgb.ts';
import { srgbToLab65 } from './srgbToLab65.ts';

export type FaultFinding =
	/** No patch differs enough to look for a cause. */
	| { readonly kind: 'clean'; readonly meanDeltaE00: number }
	| {
			readonly kind: 'named';
			readonly fault: FaultKind;
			readonly words: string;
			readonly meanDeltaE00: number;
			/** Mean difference that is left when the fault is taken as given. */
			readonly leftDeltaE00: number;
	  }
	/** Another exposure explains it, as well as any fault would: the colours themselves are not wrong. */
	| { readonly kind: 'light'; readonly meanDeltaE00: number; readonly leftDeltaE00: number }
	| { readonly kind: 'unexplained'; readonly meanDeltaE00: number };

/** Below both, a picture is clean: about what cannot be seen side by side, and its double for the worst patch in twenty. */
const CLEAN_MEAN = 1;
const CLEAN_WORST = 2.5;
const LEFT_SHARE = 0.4;
/** In units of mean difference: what a fitted number, or a second fault at once, must better the fit by. */
const PRICE_OF_FREEDOM = 0.15;
const PRICE_OF_TWO = 0.2;
/** Fewer have no signature. */
export const LEAST_SIGNATURE_PATCHES = 8;

/** Colours in the same order. RangeError for fewer than 8 patches: too few for a signature. */
export function findColourFault(expected: readonly Rgb[], seen: readonly Rgb[]): FaultFinding {
	if (expected.length < LEAST_SIGNATURE_PATCHES || expected.length !== seen.length)
		throw new RangeError(
			`a signature needs ${LEAST_SIGNATURE_PATCHES} patches, seen and drawn, got ${expected.length}`,
		);
	const seenLab = seen.map(srgbToLab65);
	const differences = expected.map((rgb, i) => deltaE00(srgbToLab65(rgb), seenLab[i]!));
	const meanDeltaE00 = mean(differences);
	if (meanDeltaE00 <= CLEAN_MEAN && nearlyWorst(differences) <= CLEAN_WORST)
		return { kind: 'clean', meanDeltaE00 };
	const leftBy = ({ apply }: Pick<FaultModel, 'apply'>): number =>
		mean(expected.map((rgb, i) => deltaE00(srgbToLab65(apply(rgb)), seenLab[i]!)));
	let best: { model: FaultModel; left: number; price: number } | null = null;
	for (const model of [...exactFaults, ...fittedFaults(expected, seen)]) {
		const left = leftBy(model);
		if (left > LEFT_SHARE * meanDeltaE00) continue;
		const price =
			left + PRICE_OF_FREEDOM * model.freedom + (model.kind === 'matrixAndRange' ? PRICE_OF_TWO : 0);
		if (best === null || price < best.price) best = { model, left, price };
	}
	for (const { apply, freedom } of otherLight(expected, seen)) {
		const left = leftBy({ apply });
		if (left > LEFT_SHARE * meanDeltaE00) continue;
		if (best === null || left + PRICE_OF_FREEDOM * freedom <= best.price)
			return { kind: 'light', meanDeltaE00, leftDeltaE00: left };
	}
	if (best === null) return { kind: 'unexplained', meanDeltaE00 };
	const { kind, words } = best.model;
	return { kind: 'named', fault: kind, words, meanDeltaE00, leftDeltaE00: best.left };
}

function mean(values: readonly number[]): number {
	return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** The value that one in twenty exceeds. */
function nearlyWorst(values: readonly number[]): number {
	return values.toSorted((a, b) => a - b)[Math.floor(0.95 * (values.length - 1))]!;
}
