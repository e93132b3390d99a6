/** PNG files and rasters: 8-bit RGBA, nothing of colour profiles (sRGB is meant, none is written). */
import { PNG } from 'pngjs';
import { OutsideFailure } from '../../failure.ts';
import type { Raster } from '../../imaging/raster.ts';

/** The bytes of a PNG file. */
export function encodePng({ widthPx, heightPx, rgba }: Raster): Uint8Array {
	const png = new PNG({ width: widthPx, height: heightPx });
	png.data = Buffer.from(rgba.buffer, rgba.byteOffset, rgba.byteLength);
	return PNG.sync.write(png);
}

/** The raster in a PNG file; throws `OutsideFailure` (`pngUnreadable`) when the bytes are not one. */
export function decodePng(bytes: Uint8Array): Raster {
	try {
		const { width, height, data } = PNG.sync.read(Buffer.from(bytes));
		return { widthPx: width, heightPx: height, rgba: new Uint8ClampedArray(data) };
	} catch (cause) {
		throw new OutsideFailure(
			'pngUnreadable',
			'The file is not a PNG picture that can be read.',
			'Save it again as PNG.',
			{
				cause,
			},
		);
	}
}
