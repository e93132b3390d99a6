/**
 * Where a picture or clip was taken, as cameras write it beside the picture: found, and taken out without touching the picture.
 * Looked through: JPEG (EXIF, XMP, IPTC, what is hung on behind), PNG (eXIf, text), HEIC and AVIF (EXIF, XMP), MP4 and MOV (the
 * location boxes and keys of common phones, tracks of data beside the picture).
 * Any other kind is searched for a written position alone, and nothing can be taken out of it.
 * NOT looked through: any other kind of file, makers' own boxes, and whatever can be seen or heard in the picture itself.
 */
import { isHeic, scrubHeic } from './locationHeic.ts';
import { scrubJpeg } from './locationJpeg.ts';
import { scrubMp4 } from './locationMp4.ts';
import { scrubPng } from './locationPng.ts';
import { latin, type Scrubbed, WRITTEN_POSITION } from './metadataText.ts';

export type LocationReading = Scrubbed & {
	readonly kind: 'JPEG' | 'PNG' | 'HEIC or AVIF' | 'MP4 or MOV' | 'not looked through';
	/** False: what was found stands in the bytes still. */
	readonly taken: boolean;
};

/** A copy without the position; the bytes themselves where there was none or the kind is not known. */
export function withoutLocation(bytes: Uint8Array): LocationReading {
	if (bytes[0] === 0xff && bytes[1] === 0xd8) return { kind: 'JPEG', ...scrubJpeg(bytes) };
	if (latin(bytes, 1, 4) === 'PNG') return { kind: 'PNG', taken: true, ...scrubPng(bytes) };
	if (isHeic(bytes)) return { kind: 'HEIC or AVIF', taken: true, ...scrubHeic(bytes) };
	if (latin(bytes, 4, 8) === 'ftyp') return { kind: 'MP4 or MOV', ...scrubMp4(bytes) };
	const found = WRITTEN_POSITION.test(latin(bytes, 0, bytes.length)) ? ['a written position'] : [];
	return { kind: 'not looked through', taken: false, bytes, found };
}
