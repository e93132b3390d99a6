/**
 * The position within EXIF (a TIFF block: tag 0x8825 of the first directory points at the position's own; EXIF 2.3, from
 * memory). It is emptied where it lies, so that everything else, the way up of the picture first of all, stays.
 */
import { latin } from './metadataText.ts';

const GPS_POINTER = 0x8825;
const ENTRY_BYTES = 12;
/** Bytes of one value by its type: byte, ascii, short, long, rational, and so on to double. */
const TYPE_BYTES = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8];

const BEGINS = 'Exif\0\0';

type Directory = { readonly view: DataView; readonly little: boolean; readonly at: number };

/** Whether the TIFF block holds a position with anything in it. */
export function holdsGps(tiff: Uint8Array): boolean {
	return gpsDirectory(tiff) !== null;
}

/** Empties the position in place: values, entries, and their number. */
export function emptyGps(tiff: Uint8Array): void {
	const gps = gpsDirectory(tiff);
	if (gps === null) return;
	const { view, little, at } = gps;
	const count = view.getUint16(at, little);
	for (let i = 0; i < count; i++) {
		const entry = at + 2 + i * ENTRY_BYTES;
		if (entry + ENTRY_BYTES > view.byteLength) break;
		const bytes = (TYPE_BYTES[view.getUint16(entry + 2, little)] ?? 0) * view.getUint32(entry + 4, little);
		const where = view.getUint32(entry + 8, little);
		if (bytes > 4 && where + bytes <= view.byteLength) tiff.fill(0, where, where + bytes);
		tiff.fill(0, entry, entry + ENTRY_BYTES);
	}
	view.setUint16(at, 0, little);
}

/** Empties the position of every EXIF block from `from` on, wherever it stands; gives how many there were. */
export function emptyExifAnywhere(bytes: Uint8Array, from: number): number {
	const text = latin(bytes, 0, bytes.length);
	let count = 0;
	for (let at = text.indexOf(BEGINS, from); at >= 0; at = text.indexOf(BEGINS, at + 1)) {
		const tiff = bytes.subarray(at + BEGINS.length);
		if (!/^(II\*\0|MM\0\*)/.test(latin(tiff, 0, 4)) || !holdsGps(tiff)) continue;
		emptyGps(tiff);
		count++;
	}
	return count;
}

function gpsDirectory(tiff: Uint8Array): Directory | null {
	if (tiff.length < 8) return null;
	const view = new DataView(tiff.buffer, tiff.byteOffset, tiff.byteLength);
	const little = tiff[0] === 0x49;
	const first = view.getUint32(4, little);
	if (first + 2 > tiff.length) return null;
	const count = view.getUint16(first, little);
	for (let i = 0; i < count; i++) {
		const entry = first + 2 + i * ENTRY_BYTES;
		if (entry + ENTRY_BYTES > tiff.length) return null;
		if (view.getUint16(entry, little) !== GPS_POINTER) continue;
		const at = view.getUint32(entry + 8, little);
		const inside = at + 2 <= tiff.length;
		return inside && view.getUint16(at, little) > 0 ? { view, little, at } : null;
	}
	return null;
}
