/**
 * Mean colour of each patch of a card in one decoded frame, sRGB codes, in the order of `cardPatches`.
 *
 * Y, U and V are averaged over the patch's inner part and then converted once, by our own BT.709 limited-range
 * conversion, whatever a browser or a decoder would have done. Real-valued; not rounded.
 */
import type { Rgb } from '../colour/rgb.ts';
import { BT709_LIMITED, type YCbCrEncoding, yCbCrToRgb } from '../colour/yCbCr.ts';
import type { Planes } from '../imaging/planes.ts';
import type { Rect } from '../imaging/rect.ts';
import type { CardSpec } from '../pattern/card.ts';
import { cardGeometry } from '../pattern/geometry.ts';

/** Throws `RangeError` when the planes are not of the card's size. `encoding`: what a file declares, where it is not the bench's own. */
export function readPatchColours(
	planes: Planes,
	spec: CardSpec,
	encoding: YCbCrEncoding = BT709_LIMITED,
): Rgb[] {
	const { widthPx, heightPx, patches } = cardGeometry(spec);
	if (planes.widthPx !== widthPx || planes.heightPx !== heightPx)
		throw new RangeError(
			`the card is ${widthPx} x ${heightPx}, the planes are ${planes.widthPx} x ${planes.heightPx}`,
		);
	return patches.map(({ inner }) => {
		const half = halved(inner);
		return yCbCrToRgb(
			[
				meanOver(planes.y, planes.yStride, inner),
				meanOver(planes.u, planes.uvStride, half),
				meanOver(planes.v, planes.uvStride, half),
			],
			encoding,
		);
	});
}

/** The same place in a chroma plane. Patches lie on even pixels, so nothing is cut in two. */
function halved({ xPx, yPx, widthPx, heightPx }: Rect): Rect {
	return { xPx: xPx / 2, yPx: yPx / 2, widthPx: widthPx / 2, heightPx: heightPx / 2 };
}

function meanOver(plane: Uint8Array, stride: number, { xPx, yPx, widthPx, heightPx }: Rect): number {
	let sum = 0;
	for (let row = yPx; row < yPx + heightPx; row++) {
		const from = row * stride + xPx;
		for (let at = from; at < from + widthPx; at++) sum += plane[at]!;
	}
	return sum / (widthPx * heightPx);
}
