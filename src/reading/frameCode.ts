/**
 * Which frame of which card a luma plane shows: reads the code strip at its fixed place in an unscaled picture.
 *
 * A bit is a pair of cells, one above the other, and its value is the sign of their difference. So gain, offset, range
 * (16-235 or 0-255) and slow shading do not matter, and a strip with no code in it has no differences to read:
 * it is refused by contrast before the check is even looked at. The price is twice the cells; the flash rule allows them.
 *
 * Wrong reads, measured by bench/codeReading.ts on 5 million seeded strips of each kind: random signs at full contrast 0.4
 * per million (2 seen, at most 1.26 with 95 % confidence; 2^-24, 0.06 per million, is expected); random greys and cuttings
 * of a made picture none (at most 0.6 per million), for 5 and 125 of the 5 million had any contrast to read. So the
 * check alone would let 15 in a million of the first kind through: succession of numbers is the rig's to judge.
 * Read without an error or a gap at QP 51 in H.264 (x264, ultrafast) and at 300 kbit/s in VP8, 720p, 90 frames each.
 *
 * Leaves out perspective, scale and cropping unknown beforehand: those belong to a filmed card.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import { CODE_BITS, decodeFrameBits } from '../pattern/frameCode.ts';
import type { CodeGeometry } from '../pattern/geometry.ts';

/** Why nothing was read. `otherCard`: the check holds, but the strip is of another layout or edition than expected. */
type UnreadableReason = 'tooSmall' | 'lowContrast' | 'checkFailed' | 'otherCard';
export type FrameCodeReading =
	| { readonly kind: 'read'; readonly frameNumber: number }
	| { readonly kind: 'unreadable'; readonly reason: UnreadableReason };

/** Where the plane's upper left corner lies in the picture: 0, 0 for a whole picture, the strip's corner for a crop of it. */
export type PlaneOrigin = { readonly xPx: number; readonly yPx: number };
const WHOLE_PICTURE: PlaneOrigin = { xPx: 0, yPx: 0 };

/** Luma codes that the weakest pair must differ by, and its share of the mean difference: below it is noise or no code. */
const MIN_DIFFERENCE = 12;
const MIN_SHARE = 0.35;
/** What is left out at each side of a cell, as a share: blur and a codec's ringing live there. */
const EDGE_SHARE = 3 / 16;

/** Reads the strip; `geometry` is the card's, `origin` says of which part of the picture the plane is. */
export function readFrameCode(
	luma: LumaPlane,
	{ code }: { readonly code: CodeGeometry },
	origin: PlaneOrigin = WHOLE_PICTURE,
): FrameCodeReading {
	const left = code.rect.xPx - origin.xPx;
	const top = code.rect.yPx - origin.yPx;
	const fits =
		left >= 0 &&
		top >= 0 &&
		left + code.rect.widthPx <= luma.widthPx &&
		top + code.rect.heightPx <= luma.heightPx &&
		(luma.heightPx - 1) * luma.stride + luma.widthPx <= luma.data.length;
	if (!fits) return unreadable('tooSmall');

	const differences = pairDifferences(luma, code, { xPx: left, yPx: top });
	let weakest = Infinity;
	let sum = 0;
	for (const difference of differences) {
		weakest = Math.min(weakest, Math.abs(difference));
		sum += Math.abs(difference);
	}
	if (weakest < Math.max(MIN_DIFFERENCE, (MIN_SHARE * sum) / CODE_BITS)) return unreadable('lowContrast');

	const word = decodeFrameBits(differences.map((difference) => (difference > 0 ? 1 : 0)));
	if (word === null) return unreadable('checkFailed');
	if (word.layoutMark !== code.layoutMark) return unreadable('otherCard');
	return { kind: 'read', frameNumber: word.frameNumber };
}

function unreadable(reason: UnreadableReason): FrameCodeReading {
	return { kind: 'unreadable', reason };
}

/** Mean of the upper cell less mean of the lower, for each column. */
function pairDifferences({ data, stride }: LumaPlane, code: CodeGeometry, corner: PlaneOrigin): Float64Array {
	const edgePx = Math.ceil(code.cellPx * EDGE_SHARE);
	const innerPx = code.cellPx - 2 * edgePx;
	const toLower = code.cellPx * stride;
	const differences = new Float64Array(code.columns);
	for (let column = 0; column < code.columns; column++) {
		let sum = 0;
		const xPx = corner.xPx + column * code.cellPx + edgePx;
		for (let row = 0; row < innerPx; row++) {
			const from = (corner.yPx + edgePx + row) * stride + xPx;
			for (let at = from; at < from + innerPx; at++) sum += data[at]! - data[at + toLower]!;
		}
		differences[column] = sum / (innerPx * innerPx);
	}
	return differences;
}
