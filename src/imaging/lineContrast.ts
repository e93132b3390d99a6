/**
 * How much of a group of fine coloured lines is left, in luma and in chroma. The group's mean profile across the lines is set
 * against its own period; the amplitude there over the amplitude as drawn is what is left: 1 = all, 0 = none. A vessel is
 * seen by its colour, and chroma is what codecs throw away first, so the two are told apart.
 *
 * Chroma is the part of the colour difference at equal luma along the drawn lines' own direction in Cb, Cr (BT.709, in codes).
 * The noise is the scatter of the amplitude that the same profile shows at periods where nothing was drawn.
 *
 * Seen, as this project states it (its own criterion, no source): at least a fifth of the drawn contrast and three times the noise.
 */
import type { Rgb } from '../colour/rgb.ts';
import { rgbToYCbCr } from '../colour/yCbCr.ts';

/** Mean colours at equal steps across the lines, sRGB codes, beginning with a line; and the lines' period in steps. */
export type LineProfile = {
	readonly colours: readonly Rgb[];
	readonly periodSteps: number;
	readonly ground: Rgb;
	readonly ink: Rgb;
};

export type LineContrast = {
	readonly lumaRatio: number;
	readonly lumaNoiseRatio: number;
	/** Null where lines and ground were drawn of one hue. */
	readonly chromaRatio: number | null;
	readonly chromaNoiseRatio: number | null;
	readonly seen: boolean;
	readonly seenByColour: boolean;
};

const SEEN_RATIO = 0.2;
const SEEN_NOISES = 3;
const LEAST_PERIODS = 3;
const LEAST_CHROMA_CODES = 4;
const ENCODING = { matrix: '709', range: 'full' } as const;

/** RangeError for fewer than three periods: then a line cannot be told from the ground's own slope. */
export function measureLines({ colours, periodSteps, ground, ink }: LineProfile): LineContrast {
	const periods = Math.floor(colours.length / periodSteps);
	if (!(periodSteps >= 2) || periods < LEAST_PERIODS)
		throw new RangeError(
			`lines need ${LEAST_PERIODS} whole periods of 2 steps or more, got ${colours.length} / ${periodSteps}`,
		);
	const codes = colours.slice(0, Math.round(periods * periodSteps)).map((rgb) => rgbToYCbCr(rgb, ENCODING));
	const from = rgbToYCbCr(ground, ENCODING);
	const to = rgbToYCbCr(ink, ENCODING);
	const along: readonly [number, number] = [to[1] - from[1], to[2] - from[2]];
	const chromaStep = Math.hypot(...along);
	const drawn = codes.map((_, at) => ((at + 0.5) % periodSteps < periodSteps / 2 ? 1 : 0));
	const luma = amplitude(
		codes.map(([y]) => y),
		{ drawn, periods, step: Math.abs(to[0] - from[0]) },
	);
	const chroma =
		chromaStep < LEAST_CHROMA_CODES
			? null
			: amplitude(
					codes.map(([, cb, cr]) => (cb * along[0] + cr * along[1]) / chromaStep),
					{ drawn, periods, step: chromaStep },
				);
	return {
		lumaRatio: luma.ratio,
		lumaNoiseRatio: luma.noiseRatio,
		chromaRatio: chroma?.ratio ?? null,
		chromaNoiseRatio: chroma?.noiseRatio ?? null,
		seen: isSeen(luma),
		seenByColour: chroma !== null && isSeen(chroma),
	};
}

type Amplitude = { readonly ratio: number; readonly noiseRatio: number };

function isSeen({ ratio, noiseRatio }: Amplitude): boolean {
	return ratio >= SEEN_RATIO && ratio >= SEEN_NOISES * noiseRatio;
}

type Drawn = {
	/** 1 on a line, 0 beside it, at the same steps as what was seen. */
	readonly drawn: readonly number[];
	readonly periods: number;
	readonly step: number;
};

/** Over the same wave of the lines as drawn, at the same steps. Noise from the waves beside it. */
function amplitude(values: readonly number[], { drawn, periods, step }: Drawn): Amplitude {
	const level = withoutSlope(values);
	const whole = step * waveAt(withoutSlope(drawn), periods);
	const beside = [-2, -1.5, 1.5, 2].map((away) => periods + away).filter((cycles) => cycles > 0.9);
	const noise = Math.sqrt(
		beside.reduce((sum, cycles) => sum + waveAt(level, cycles) ** 2, 0) / beside.length,
	);
	return { ratio: waveAt(level, periods) / whole, noiseRatio: noise / whole };
}

/** Amplitude of the wave with so many cycles over the values, under a cosine window so that neighbours do not leak in. */
function waveAt(values: readonly number[], cycles: number): number {
	let real = 0;
	let imaginary = 0;
	let whole = 0;
	for (const [at, value] of values.entries()) {
		const u = (at + 0.5) / values.length;
		const weight = 1 - Math.cos(2 * Math.PI * u);
		real += weight * value * Math.cos(2 * Math.PI * cycles * u);
		imaginary += weight * value * Math.sin(2 * Math.PI * cycles * u);
		whole += weight;
	}
	return (2 * Math.hypot(real, imaginary)) / whole;
}

function withoutSlope(values: readonly number[]): number[] {
	const middle = (values.length - 1) / 2;
	const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
	let product = 0;
	let squares = 0;
	for (const [at, value] of values.entries()) {
		product += (at - middle) * (value - mean);
		squares += (at - middle) ** 2;
	}
	return values.map((value, at) => value - mean - (product / squares) * (at - middle));
}
