/**
 * What a better exposure and white balance would cure: the one gain for each channel in linear light that brings the seen
 * patches nearest to the expected ones, and the seen colours with it undone. What is left after that is wrong with the colours themselves.
 *
 * The fit is least squares of cube roots (nearly lightness), channel by channel, in closed form: this project's choice.
 * Patches that are clipped at either end of a channel, seen or expected, do not count in that channel.
 */
import type { Rgb } from './rgb.ts';
import { decodeSrgb, encodeSrgb } from './srgbTransfer.ts';

export type ExposureFit = {
	/** Light seen over light expected, red, green and blue. */
	readonly gains: readonly [number, number, number];
	/** Geometric mean of the gains: the exposure. */
	readonly exposure: number;
	/** The seen colours with the exposure alone undone, and with all three gains undone. */
	readonly exposureUndone: readonly Rgb[];
	readonly bothUndone: readonly Rgb[];
};

const CLIPPED_HIGH = 253;
const CLIPPED_LOW = 3;
const CHANNELS = [0, 1, 2] as const;
const LEAST_PATCHES = 4;

/** Colours in the same order. Null when fewer than four patches of a channel are free of clipping. */
export function fitExposure(expected: readonly Rgb[], seen: readonly Rgb[]): ExposureFit | null {
	if (expected.length !== seen.length)
		throw new RangeError(`as many colours seen as expected, got ${seen.length} and ${expected.length}`);
	const [red, green, blue] = CHANNELS.map((channel) => {
		let product = 0;
		let squares = 0;
		let count = 0;
		for (const [i, rgb] of expected.entries()) {
			const from = rgb[channel];
			const to = seen[i]![channel];
			if (Math.min(from, to) < CLIPPED_LOW || Math.max(from, to) > CLIPPED_HIGH) continue;
			const root = Math.cbrt(decodeSrgb(from));
			product += root * Math.cbrt(decodeSrgb(to));
			squares += root * root;
			count++;
		}
		return count < LEAST_PATCHES ? null : (product / squares) ** 3;
	});
	if (!red || !green || !blue) return null;
	const gains = [red, green, blue] as const;
	const exposure = Math.cbrt(red * green * blue);
	return {
		gains,
		exposure,
		exposureUndone: seen.map((rgb) => undone(rgb, [exposure, exposure, exposure])),
		bothUndone: seen.map((rgb) => undone(rgb, gains)),
	};
}

function undone(rgb: Rgb, gains: readonly [number, number, number]): Rgb {
	const channel = (c: 0 | 1 | 2): number => encodeSrgb(decodeSrgb(rgb[c]) / gains[c]);
	return [channel(0), channel(1), channel(2)];
}
