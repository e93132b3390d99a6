/**
 * Chroma that runs over the edge of a patch on to the neutral ground beside it: mean chroma 6 to 12 px beyond the patch's
 * right and left edge over the chroma of the patch. 4:2:0 alone reaches 1 or 2 px and reads 0; a chroma plane that was shifted, scaled
 * twice or filtered reads more. Only patches with strong colour and only where the ground is wide enough are looked at.
 * The distances are of the card's own pixels, this project's choice.
 */
import type { Planes } from '../imaging/planes.ts';
import type { CardSpec } from '../pattern/card.ts';
import { cardPatches } from '../pattern/patches.ts';

const FROM_PX = 6;
const TO_PX = 10;
const LEAST_CHROMA_CODES = 20;

/** 0 for none, 1 where the ground is as coloured as the patch. The planes are of the card's size. */
export function readChromaBleed(planes: Planes, spec: CardSpec): number {
	let beside = 0;
	let inside = 0;
	for (const { rect, inner } of cardPatches(spec)) {
		const own = chromaIn(planes, { from: inner.xPx, to: inner.xPx + inner.widthPx, rect });
		const strength = Math.hypot(...own);
		if (strength < LEAST_CHROMA_CODES) continue;
		// The ground on the left belongs to the neighbour there as well: each side is looked at near to its own patch.
		const right = chromaIn(planes, {
			from: rect.xPx + rect.widthPx + FROM_PX,
			to: rect.xPx + rect.widthPx + TO_PX,
			rect,
		});
		beside += Math.max(0, (right[0] * own[0] + right[1] * own[1]) / strength);
		inside += strength;
	}
	return inside === 0 ? 0 : beside / inside;
}

type Strip = {
	readonly from: number;
	readonly to: number;
	readonly rect: { readonly yPx: number; readonly heightPx: number };
};

/** Mean Cb and Cr less 128 over a strip, the middle half of the patch's height. */
function chromaIn({ u, v, uvStride }: Planes, { from, to, rect }: Strip): [number, number] {
	let cb = 0;
	let cr = 0;
	let count = 0;
	const top = Math.floor((rect.yPx + rect.heightPx / 4) / 2);
	const bottom = Math.floor((rect.yPx + (3 * rect.heightPx) / 4) / 2);
	for (let row = top; row < bottom; row++)
		for (let column = Math.ceil(from / 2); column < Math.floor(to / 2); column++) {
			cb += u[row * uvStride + column]! - 128;
			cr += v[row * uvStride + column]! - 128;
			count++;
		}
	return [cb / count, cr / count];
}
