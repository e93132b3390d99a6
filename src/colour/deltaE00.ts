/**
 * CIEDE2000 colour difference, kL = kC = kH = 1. About 1 is just noticeable side by side.
 * Between two Lab colours against the same white; says nothing of which way they differ.
 *
 * Source: Sharma, Wu, Dalal, "The CIEDE2000 color-difference formula: implementation notes, supplementary test data, and
 * mathematical observations", Color Research and Application 30(1):21-30, 2005. The formula jumps where two hues stand
 * exactly 180 degrees apart (their pair 14): there the last bit of atan2 decides.
 */
import type { Lab } from './lab.ts';

const DEGREE = Math.PI / 180;
const POW_25_7 = 25 ** 7;

/** Difference of `sample` from `standard`; the same the other way round. */
export function deltaE00(standard: Lab, sample: Lab): number {
	const meanChroma = (Math.hypot(standard[1], standard[2]) + Math.hypot(sample[1], sample[2])) / 2;
	const stretch = 1.5 - 0.5 * chromaWeight(meanChroma);
	const first = toPolar(standard, stretch);
	const second = toPolar(sample, stretch);

	const lightnessStep = sample[0] - standard[0];
	const chromaStep = second.chroma - first.chroma;
	const hueStepDeg = hueDifferenceDeg(first, second);
	const hueStep = 2 * Math.sqrt(first.chroma * second.chroma) * Math.sin((hueStepDeg / 2) * DEGREE);

	const lightness = (standard[0] + sample[0]) / 2;
	const chroma = (first.chroma + second.chroma) / 2;
	const hueDeg = meanHueDeg(first, second);

	const lightnessOffset = (lightness - 50) ** 2;
	const scaledL = lightnessStep / (1 + (0.015 * lightnessOffset) / Math.sqrt(20 + lightnessOffset));
	const scaledC = chromaStep / (1 + 0.045 * chroma);
	const scaledH = hueStep / (1 + 0.015 * chroma * hueWeight(hueDeg));
	return Math.sqrt(scaledL ** 2 + scaledC ** 2 + scaledH ** 2 + rotation(chroma, hueDeg) * scaledC * scaledH);
}

type Polar = { readonly chroma: number; readonly hueDeg: number };

/** Chroma and hue after a* is stretched near the grey axis; hue 0..360, and 0 for a grey. */
function toPolar([, a, b]: Lab, stretch: number): Polar {
	const stretched = a * stretch;
	const hueDeg = stretched === 0 && b === 0 ? 0 : Math.atan2(b, stretched) / DEGREE;
	return { chroma: Math.hypot(stretched, b), hueDeg: hueDeg < 0 ? hueDeg + 360 : hueDeg };
}

function hueDifferenceDeg(first: Polar, second: Polar): number {
	if (first.chroma * second.chroma === 0) return 0;
	const step = second.hueDeg - first.hueDeg;
	if (step > 180) return step - 360;
	return step < -180 ? step + 360 : step;
}

function meanHueDeg(first: Polar, second: Polar): number {
	const sum = first.hueDeg + second.hueDeg;
	if (first.chroma * second.chroma === 0) return sum;
	if (Math.abs(first.hueDeg - second.hueDeg) <= 180) return sum / 2;
	return sum < 360 ? (sum + 360) / 2 : (sum - 360) / 2;
}

/** T of the paper. */
function hueWeight(hueDeg: number): number {
	return (
		1 -
		0.17 * Math.cos((hueDeg - 30) * DEGREE) +
		0.24 * Math.cos(2 * hueDeg * DEGREE) +
		0.32 * Math.cos((3 * hueDeg + 6) * DEGREE) -
		0.2 * Math.cos((4 * hueDeg - 63) * DEGREE)
	);
}

/** R_T of the paper: blue differences are tilted, others are not. */
function rotation(chroma: number, hueDeg: number): number {
	const tiltDeg = 30 * Math.exp(-(((hueDeg - 275) / 25) ** 2));
	return -2 * chromaWeight(chroma) * Math.sin(2 * tiltDeg * DEGREE);
}

function chromaWeight(chroma: number): number {
	const power = chroma ** 7;
	return Math.sqrt(power / (power + POW_25_7));
}
