/** Optical clips with known truth, as signals: no pixels, milliseconds each. */

import { type ClipMeasurement, measureClip } from '../../src/reading/measureClip.ts';
import type { FoundMarker } from '../../src/reading/opticalTypes.ts';
import { inventedReading } from '../../src/rigs/optical/inventedFilm.ts';
import { opticalSignal } from '../../src/simulation/opticalSignal.ts';
import { type OpticalSpec, usualOpticalSpec } from '../../src/simulation/opticalSpec.ts';
import { type OpticalTruth, opticalTruth } from '../../src/simulation/opticalTruth.ts';
import { createRandom } from '../../src/statistics/random.ts';

const NOWHERE = { xPx: 0, yPx: 0 };

export function madeMarker(copy: 'scope' | 'free', over: Partial<FoundMarker> = {}): FoundMarker {
	const four = [NOWHERE, NOWHERE, NOWHERE, NOWHERE] as const;
	return {
		pose: { quad: { corners: four, bulges: four }, firstCorner: 0, mirrored: false },
		label: { copy, rateHz: 60, session: 5 },
		sidePx: copy === 'free' ? 100 : 90,
		heightRatio: 0.5,
		turnedDeg: 0,
		...over,
	};
}

export const madeClip = inventedReading;

/** A clip whose clocks are apart by 0.6 to 1.4e-3 each (`drift`) or exactly in step (`lock`), from a seed. */
export function madeSpec(
	rates: readonly [displayHz: number, scopeHz: number, phoneHz: number],
	seed: number,
	{ mode = 'drift', ...over }: Partial<OpticalSpec> & { readonly mode?: 'drift' | 'lock' } = {},
): OpticalSpec {
	const [displayHz, scopeHz, phoneHz] = rates;
	const random = createRandom(seed * 1009 + displayHz + scopeHz + phoneHz);
	const sign = random.next() < 0.5 ? -1 : 1;
	const apart = () => (mode === 'drift' ? (0.6 + 0.8 * random.next()) * 1e-3 : 0);
	const { laptop, scope, tablet, phone } = usualOpticalSpec;
	return {
		...usualOpticalSpec,
		seed,
		firstTick: random.integer(4096),
		laptop: { ...laptop, periodMs: 1000 / displayHz, labelHz: displayHz },
		scope: {
			...scope,
			periodMs: (1000 / scopeHz) * (1 + sign * apart()),
			exposureMs: scopeHz > 50 ? 8 : 10,
			phaseMs: 40 * random.next(),
		},
		tablet: {
			...tablet,
			periodMs: (1000 / 60) * (1 + 0.3 * apart()),
			phaseMs: 16 * random.next(),
		},
		phone: {
			...phone,
			periodMs: (1000 / phoneHz) * (1 - sign * apart()),
			exposureMs: phoneHz >= 240 ? 3 : phoneHz >= 120 ? 4 : 8,
			phaseMs: 16 * random.next(),
		},
		...over,
	};
}

export type Judged = {
	readonly measured: ClipMeasurement;
	readonly truth: OpticalTruth;
	readonly errorMs: number;
};

/** Measures a made clip and its truth over the same stretch; throws when it could not be measured. */
export function judgeMade(spec: OpticalSpec): Judged {
	const signal = opticalSignal(spec);
	const measured = measureClip(madeClip(spec, signal));
	if (measured.kind !== 'measured') throw new Error(`${measured.reason}: ${measured.explanation}`);
	const { from, until } = measured.pieces[0]!.piece;
	const truth = opticalTruth(spec, signal.trueMs[from]!, signal.trueMs[until - 1]!);
	return { measured, truth, errorMs: measured.pieces[0]!.meanAgeMs - truth.meanAgeMs };
}
