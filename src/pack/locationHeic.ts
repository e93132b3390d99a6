/**
 * A position in a HEIC or AVIF still, whose EXIF and XMP lie somewhere among its items: both are looked for by how they begin,
 * wherever they stand, and emptied where they lie, so that no offset moves. (Item layout not read; beginnings from memory.)
 */
import { emptyExifAnywhere } from './exifGps.ts';
import { latin, type Scrubbed, tellsPlace } from './metadataText.ts';

const BRANDS = ['heic', 'heix', 'heim', 'heis', 'hevc', 'hevx', 'mif1', 'msf1', 'avif', 'avis'];
const XMP = /<x:xmpmeta[\s\S]*?<\/x:xmpmeta>/g;

/** By the file's own brand, the first it names. */
export function isHeic(bytes: Uint8Array): boolean {
	return latin(bytes, 4, 8) === 'ftyp' && BRANDS.includes(latin(bytes, 8, 12));
}

export function scrubHeic(original: Uint8Array): Scrubbed {
	const bytes = new Uint8Array(original);
	const found = Array.from({ length: emptyExifAnywhere(bytes, 0) }, () => 'position in EXIF');
	for (const { index, 0: words } of latin(bytes, 0, bytes.length).matchAll(XMP)) {
		if (!tellsPlace(words)) continue;
		bytes.fill(0x20, index, index + words.length);
		found.push('place in XMP');
	}
	return found.length === 0 ? { bytes: original, found } : { bytes, found };
}
