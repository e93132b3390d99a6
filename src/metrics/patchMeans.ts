/**
 * What the viewer made of each patch of the card: the mean code values over all samples of the observed time.
 * Samples taken from our own conversion of Y, U, V (`decoded`) come first; as the browser would display them (`displayed`)
 * only where there are too few of those. Our conversion may give codes beyond 0 to 255; they are cut to it, as any display
 * would. A sample that does not list every patch of the header is left out.
 */
import type { PatchReference } from '../observations/records.ts';
import type { PatchSample, Run } from '../observations/run.ts';
import { hdrReason } from './hdr.ts';
import type { NotMeasured, PatchReading } from './metric.ts';

/** Fewer tell nothing of how far repeats differ. */
const MIN_SAMPLES = 3;

export type Triple = PatchReading['seenRgb'];

export type PatchMeans = {
	readonly kind: 'measured';
	readonly path: 'decoded' | 'displayed';
	readonly references: readonly PatchReference[];
	/** In the order of `references`. */
	readonly seen: readonly Triple[];
	/** Every sample used, in time order. */
	readonly samples: readonly (readonly Triple[])[];
};

/** The better path that has enough samples. */
export function gatherPatchMeans(run: Run): PatchMeans | NotMeasured {
	const hdr = hdrReason(run);
	if (hdr !== null) return hdr;
	const decoded = patchMeansOf(run, 'decoded');
	if (decoded.kind === 'measured') return decoded;
	const displayed = patchMeansOf(run, 'displayed');
	return displayed.kind === 'measured' ? displayed : decoded;
}

/** Means of one path. */
export function patchMeansOf(run: Run, path: 'decoded' | 'displayed'): PatchMeans | NotMeasured {
	const references = run.header.patches;
	if (references.length === 0) {
		return {
			kind: 'notMeasured',
			reason: 'noPatches',
			explanation: 'The card of this run lists no colour patches.',
		};
	}
	const samples = run.patches
		.filter((sample) => sample.path === path && sample.rgb.length === references.length)
		.filter((sample) => isObserved(run, sample))
		.map(({ rgb }) => rgb.map(cutToCodes));
	if (samples.length < MIN_SAMPLES) {
		return {
			kind: 'notMeasured',
			reason: 'tooFewSamples',
			explanation: `The colours were read ${samples.length} times after warm-up; at least ${MIN_SAMPLES} are needed.`,
		};
	}
	return { kind: 'measured', path, references, seen: meansOf(samples), samples };
}

function isObserved(run: Run, { segment, atMs }: PatchSample): boolean {
	const within = run.segments.find((candidate) => candidate.segment === segment);
	return within !== undefined && atMs >= within.warmUpUntilMs;
}

function cutToCodes([red, green, blue]: Triple): Triple {
	return [cutToCode(red), cutToCode(green), cutToCode(blue)];
}

function cutToCode(value: number): number {
	return Math.min(255, Math.max(0, value));
}

function meansOf(samples: readonly (readonly Triple[])[]): Triple[] {
	return samples[0]!.map((_, patch) => {
		const sums: [number, number, number] = [0, 0, 0];
		for (const sample of samples) for (const c of CHANNELS) sums[c] += sample[patch]![c];
		return [sums[0] / samples.length, sums[1] / samples.length, sums[2] / samples.length];
	});
}

const CHANNELS = [0, 1, 2] as const;
