/** A position in a PNG: eXIf is emptied of it; a text chunk that tells a place, or hides its words compressed, is left out. */
import { crc32 } from 'node:zlib';
import { emptyGps, holdsGps } from './exifGps.ts';
import { latin, type Scrubbed, tellsPlace } from './metadataText.ts';

const SIGNATURE_BYTES = 8;
/** Length, type and check of a chunk. */
const FRAME_BYTES = 12;

export function scrubPng(original: Uint8Array): Scrubbed {
	// Not slice(): of a Buffer that is a view on the same bytes.
	const bytes = new Uint8Array(original);
	const view = new DataView(bytes.buffer);
	const found: string[] = [];
	const kept: Uint8Array[] = [bytes.subarray(0, SIGNATURE_BYTES)];
	let at = SIGNATURE_BYTES;
	while (at + FRAME_BYTES <= bytes.length) {
		const end = at + FRAME_BYTES + view.getUint32(at);
		if (end > bytes.length) break;
		const chunk = bytes.subarray(at, end);
		const type = latin(chunk, 4, 8);
		const data = chunk.subarray(8, chunk.length - 4);
		if (type === 'eXIf' && holdsGps(data)) {
			emptyGps(data);
			view.setUint32(end - 4, crc32(chunk.subarray(4, chunk.length - 4)));
			found.push('position in EXIF');
			kept.push(chunk);
		} else if (textTellsPlace(type, data)) found.push(`place in a ${type} chunk`);
		else kept.push(chunk);
		at = end;
	}
	kept.push(bytes.subarray(at));
	return found.length === 0 ? { bytes: original, found } : { bytes: Buffer.concat(kept), found };
}

function textTellsPlace(type: string, data: Uint8Array): boolean {
	if (type === 'tEXt') return tellsPlace(latin(data, 0, data.length));
	if (type === 'iTXt') {
		const text = latin(data, 0, data.length);
		const compressed = data[text.indexOf('\0') + 1] === 1;
		return compressed || tellsPlace(text);
	}
	// Compressed text: what it says is not looked at, so it goes.
	return type === 'zTXt';
}
