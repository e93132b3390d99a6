/** Pictures that show what a likeness figure means: the least like frame as received, and where it differs. */
import { differencePicture } from '../../imaging/differencePicture.ts';
import { planesToRaster } from '../../imaging/planesToRaster.ts';
import { unpackPlanes } from '../../media/node/packedPlanes.ts';
import { encodePng } from '../../media/node/png.ts';
import type { CardSpec } from '../../pattern/card.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { createCardPainter } from '../../pattern/painter.ts';

export type Evidence = { readonly name: string; readonly mismatchRatio: number };

/**
 * Compares the received planes (I420 without padding, BT.709 limited) with the frame painted again, and hands over two
 * PNGs. Null when the bytes are not a picture of the card's size.
 */
export function makeEvidence(
	received: { readonly frameNumber: number; readonly bytes: Uint8Array },
	card: CardSpec,
	save: (name: string, png: Uint8Array) => void,
): Evidence | null {
	const { widthPx, heightPx } = cardGeometry(card);
	const planes = unpackPlanes(received.bytes, widthPx, heightPx);
	if (planes === null) return null;
	const raster = planesToRaster(planes, { matrix: '709', range: 'limited' });
	const difference = differencePicture(createCardPainter(card).paint(received.frameNumber), raster);
	const name = `frame-${received.frameNumber}-difference.png`;
	save(`frame-${received.frameNumber}-received.png`, encodePng(raster));
	save(name, encodePng(difference.raster));
	return { name, mismatchRatio: difference.mismatchRatio };
}
