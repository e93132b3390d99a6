/** What paints a card, whichever layout it has. */
import type { Planes } from '../imaging/planes.ts';
import type { Raster } from '../imaging/raster.ts';

export type CardPainter = {
	/** The frame as RGBA. Always the same raster: copy it to keep it. Throws `RangeError` for a number beyond 24 bits. */
	paint(frameNumber: number): Raster;
	/** The frame as I420, BT.709 limited range. Always the same planes: copy them to keep them. */
	paintPlanes(frameNumber: number): Planes;
};
