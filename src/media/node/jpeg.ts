/** JPEG files and rasters: baseline and progressive, grey or Y'CbCr, 8 bits. What a file says of itself is looked at first. */
import { decode, encode } from 'jpeg-js';
import { OutsideFailure } from '../../failure.ts';
import type { Raster } from '../../imaging/raster.ts';

export type JpegFacts = {
	readonly bitsPerSample: number;
	/** 1 grey, 3 colour, 4 CMYK. */
	readonly componentCount: number;
	/** EXIF orientation, 1 to 8; 1 is upright, null where the file does not say. */
	readonly orientation: number | null;
};

/** Frame headers: every SOF but DHT (C4), JPG (C8) and DAC (CC). */
const isFrame = (marker: number): boolean =>
	marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;

/** Null when no frame header is found: the file is no JPEG, or torn before it. */
export function jpegFacts(bytes: Uint8Array): JpegFacts | null {
	let orientation: number | null = null;
	for (let at = 2; at + 9 < bytes.length && bytes[at] === 0xff; ) {
		const marker = bytes[at + 1]!;
		const length = (bytes[at + 2]! << 8) | bytes[at + 3]!;
		if (marker === 0xe1) orientation ??= exifOrientation(bytes.subarray(at + 4, at + 2 + length));
		if (isFrame(marker))
			return { bitsPerSample: bytes[at + 4]!, componentCount: bytes[at + 9]!, orientation };
		at += 2 + length;
	}
	return null;
}

const ORIENTATION_TAG = 0x0112;

/** From an APP1 segment: "Exif", a TIFF header, the first directory of twelve-byte entries. */
function exifOrientation(segment: Uint8Array): number | null {
	if (segment.length < 26 || String.fromCharCode(...segment.subarray(0, 4)) !== 'Exif') return null;
	const tiff = segment.subarray(6);
	const view = new DataView(tiff.buffer, tiff.byteOffset, tiff.byteLength);
	const little = view.getUint16(0) === 0x4949;
	const directory = view.getUint32(4, little);
	if (directory + 2 > tiff.length) return null;
	const entries = view.getUint16(directory, little);
	for (let i = 0; i < entries; i++) {
		const entry = directory + 2 + 12 * i;
		if (entry + 12 > tiff.length) return null;
		if (view.getUint16(entry, little) === ORIENTATION_TAG) return view.getUint16(entry + 8, little);
	}
	return null;
}

/** Throws `OutsideFailure` (`jpegUnreadable`) when the bytes are torn or of a form that cannot be read. */
export function decodeJpeg(bytes: Uint8Array): Raster {
	try {
		const { width, height, data } = decode(bytes, {
			useTArray: true,
			formatAsRGBA: true,
			tolerantDecoding: false,
		});
		return { widthPx: width, heightPx: height, rgba: new Uint8ClampedArray(data) };
	} catch (cause) {
		throw new OutsideFailure(
			'jpegUnreadable',
			'The file begins as a JPEG picture but cannot be read to its end.',
			'Copy it again from the camera; it may be torn.',
			{ cause },
		);
	}
}

/** The bytes of a JPEG file, 4:2:0 never: this encoder keeps chroma whole. Quality 1 to 100. */
export function encodeJpeg({ widthPx, heightPx, rgba }: Raster, quality: number): Uint8Array {
	return encode(
		{ width: widthPx, height: heightPx, data: new Uint8Array(rgba.buffer, rgba.byteOffset, rgba.byteLength) },
		quality,
	).data;
}
