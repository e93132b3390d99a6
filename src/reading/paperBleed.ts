/**
 * Colour that runs over edges on the printed card, where a picture's pixels are the kit's own (not a film of its tablet): chroma on the bare paper 6
 * to 10 px beyond the patches at the rim of their field, over that of the patch, both less the paper's own farther out, less the share that
 * luma shows in the same place, since a blur or a glare takes both alike and is no bleeding. Distances as on the link (chromaBleed.ts); our own.
 * Blocks are not told from the printed card: nobody knows its pixels, and the steps along a codec's grid over those elsewhere, on the paper or in the
 * whole picture, were tried and do not rise as the picture gets worse.
 */
import type { Rgb } from '../colour/rgb.ts';
import { rgbToYCbCr, type YCbCr } from '../colour/yCbCr.ts';
import type { Raster } from '../imaging/raster.ts';
import { type Box, detailPatches, PATCH_FIELD } from '../pattern/detailCard.ts';
import type { CardPose } from './cardPose.ts';
import { readBoxColours } from './detailCardReading.ts';

/** Fewer pixels to a millimetre leave no room beside the patches. */
const LEAST_PX_PER_MM = 5;
const BURNT_CODE = 250;
const FULL = { matrix: '709', range: 'full' } as const;
/** Pixels beyond the patch: what is looked at, and the paper that it is set against. */
const BESIDE_PX = [6, 10] as const;
const PAPER_PX = [18, 24] as const;
const LEAST_CHROMA_CODES = 20;
/** Of the way along a side, so that neighbours do not come in. */
const ALONG = [0.25, 0.75] as const;

/** 0: none; 1: the paper is as coloured as the patch. Null where the card is too small or its paper burnt out. */
export function readPaperBleed(raster: Raster, pose: CardPose): number | null {
	const sums = { chroma: 0, strength: 0, luma: 0, step: 0 };
	for (const { box, inner } of detailPatches) {
		const pxPerMm = pose.pxPerMmAt(inner);
		if (pxPerMm < LEAST_PX_PER_MM) return null;
		const own = codesOf(meanOf(raster, pose, inner));
		for (const side of paperSides(box)) {
			const [beside, paper] = [BESIDE_PX, PAPER_PX].map(([from, to]) =>
				meanOf(raster, pose, side(from / pxPerMm, to / pxPerMm)),
			) as [Rgb, Rgb];
			if (Math.max(...paper) >= BURNT_CODE) continue;
			addSide(sums, own, { beside: codesOf(beside), paper: codesOf(paper) });
		}
	}
	if (sums.strength === 0) return null;
	const luma = sums.step === 0 ? 0 : Math.max(0, sums.luma / sums.step);
	return Math.max(0, sums.chroma / sums.strength - luma);
}

function meanOf(raster: Raster, pose: CardPose, box: Box): Rgb {
	return readBoxColours(raster, pose, { box, parts: 1 })[0]!;
}

function codesOf(rgb: Rgb): YCbCr {
	return rgbToYCbCr(rgb, FULL);
}

type Sums = { chroma: number; strength: number; luma: number; step: number };

function addSide(
	sums: Sums,
	own: YCbCr,
	{ beside, paper }: { readonly beside: YCbCr; readonly paper: YCbCr },
): void {
	const [step, cb, cr] = [own[0] - paper[0], own[1] - paper[1], own[2] - paper[2]];
	const strength = Math.hypot(cb, cr);
	if (strength < LEAST_CHROMA_CODES) return;
	sums.chroma += ((beside[1] - paper[1]) * cb + (beside[2] - paper[2]) * cr) / strength;
	sums.strength += strength;
	sums.luma += Math.sign(step) * (beside[0] - paper[0]);
	sums.step += Math.abs(step);
}

/** The sides of a patch that lie at the rim of the field, each as strips so far beyond it. */
function paperSides({ x, y, width, height }: Box): ((fromMm: number, toMm: number) => Box)[] {
	const right = x + width;
	const lower = y + height;
	const isAt = (a: number, b: number): boolean => Math.abs(a - b) < 1e-6;
	const down = { y: y + ALONG[0] * height, height: (ALONG[1] - ALONG[0]) * height };
	const across = { x: x + ALONG[0] * width, width: (ALONG[1] - ALONG[0]) * width };
	const { x: left, y: top, width: wide, height: high } = PATCH_FIELD;
	return [
		...(isAt(x, left) ? [(from: number, to: number) => ({ ...down, x: x - to, width: to - from })] : []),
		...(isAt(right, left + wide)
			? [(from: number, to: number) => ({ ...down, x: right + from, width: to - from })]
			: []),
		...(isAt(y, top) ? [(from: number, to: number) => ({ ...across, y: y - to, height: to - from })] : []),
		...(isAt(lower, top + high)
			? [(from: number, to: number) => ({ ...across, y: lower + from, height: to - from })]
			: []),
	];
}
