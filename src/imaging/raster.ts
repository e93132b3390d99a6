/** A picture as red, green, blue, alpha bytes, row by row, without padding: what a canvas and a PNG hold. */
export type Raster = {
	readonly widthPx: number;
	readonly heightPx: number;
	/** 4 bytes a pixel; sRGB codes, alpha not premultiplied. */
	readonly rgba: Uint8ClampedArray;
};

/** Black and opaque. RangeError for a side that is not a whole number of at least 1. */
export function createRaster(widthPx: number, heightPx: number): Raster {
	checkSides(widthPx, heightPx);
	const rgba = new Uint8ClampedArray(widthPx * heightPx * 4);
	for (let alphaAt = 3; alphaAt < rgba.length; alphaAt += 4) rgba[alphaAt] = 255;
	return { widthPx, heightPx, rgba };
}

/** RangeError for a side that is not a whole number of at least 1. */
export function checkSides(widthPx: number, heightPx: number): void {
	if (!Number.isInteger(widthPx) || !Number.isInteger(heightPx) || widthPx < 1 || heightPx < 1) {
		throw new RangeError(`a picture's sides must be whole and at least 1 px, got ${widthPx} x ${heightPx}`);
	}
}
