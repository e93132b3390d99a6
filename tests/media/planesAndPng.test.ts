import { expect, test } from 'vitest';
import { createPlanes } from '../../src/imaging/planes.ts';
import { packedByteCount, packPlanes, unpackPlanes } from '../../src/media/node/packedPlanes.ts';
import { decodePng, encodePng } from '../../src/media/node/png.ts';

test('padded planes lose their padding and nothing else', () => {
	const padded = {
		widthPx: 5,
		heightPx: 3,
		y: Uint8Array.from({ length: 3 * 8 }, (_, i) => (i % 8 < 5 ? 10 * (i >> 3) + (i % 8) : 255)),
		u: Uint8Array.from({ length: 2 * 4 }, (_, i) => (i % 4 < 3 ? 100 + i : 255)),
		v: Uint8Array.from({ length: 2 * 4 }, (_, i) => (i % 4 < 3 ? 200 + i : 255)),
		yStride: 8,
		uvStride: 4,
	};
	const bytes = new Uint8Array(packedByteCount(5, 3));
	packPlanes(padded, bytes);
	const planes = unpackPlanes(bytes, 5, 3);
	expect([...(planes?.y ?? [])]).toEqual([0, 1, 2, 3, 4, 10, 11, 12, 13, 14, 20, 21, 22, 23, 24]);
	expect([...(planes?.u ?? [])]).toEqual([100, 101, 102, 104, 105, 106]);
	expect([...(planes?.v ?? [])]).toEqual([200, 201, 202, 204, 205, 206]);
});

test('bytes of another size are not taken for a picture', () => {
	expect(unpackPlanes(new Uint8Array(100), 1280, 720)).toBeNull();
	expect(() => packPlanes(createPlanes(4, 4), new Uint8Array(23))).toThrow(RangeError);
});

test('a raster written as PNG is read back byte for byte', () => {
	const rgba = Uint8ClampedArray.from({ length: 7 * 5 * 4 }, (_, i) => (i * 37) % 256);
	const raster = { widthPx: 7, heightPx: 5, rgba };
	expect(decodePng(encodePng(raster))).toEqual(raster);
});

test('a file that is not a PNG is named as such', () => {
	expect(() => decodePng(new Uint8Array([1, 2, 3]))).toThrow(
		expect.objectContaining({ code: 'pngUnreadable' }),
	);
});
