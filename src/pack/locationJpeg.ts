/**
 * A position in a JPEG's segments: in EXIF it is emptied, so that the way up stays; a whole XMP or IPTC segment that
 * tells a place is left out. Behind the picture phones hang on smaller pictures and short clips: their positions are emptied
 * where they lie. (JFIF and EXIF segment layout, from memory.)
 */
import { emptyExifAnywhere, emptyGps, holdsGps } from './exifGps.ts';
import { scrubMp4 } from './locationMp4.ts';
import { latin, type Scrubbed, tellsPlace } from './metadataText.ts';

const START_OF_SCAN = 0xda;
const EXIF = 'Exif\0\0';
/** IPTC records 2:90 (city), 2:92 (part of it), 2:95 (province), 2:101 (country). */
const IPTC_PLACES = [90, 92, 95, 101].map((record) => String.fromCharCode(0x1c, 2, record));

/** `taken` false: a clip behind the picture holds what could not be taken out. */
export function scrubJpeg(original: Uint8Array): Scrubbed & { readonly taken: boolean } {
	// Not slice(): of a Buffer that is a view on the same bytes.
	const bytes = new Uint8Array(original);
	const found: string[] = [];
	const kept: Uint8Array[] = [bytes.subarray(0, 2)];
	let at = 2;
	while (at + 4 <= bytes.length && bytes[at] === 0xff && bytes[at + 1] !== START_OF_SCAN) {
		const end = at + 2 + (((bytes[at + 2] ?? 0) << 8) | (bytes[at + 3] ?? 0));
		// A length that leads nowhere: the rest is kept as it is, untouched.
		if (end <= at + 3 || end > bytes.length) break;
		const segment = bytes.subarray(at, end);
		const where = placeIn(segment);
		if (where !== null) found.push(where);
		if (where === null) kept.push(segment);
		else if (where === EXIF_WORDS) {
			emptyGps(segment.subarray(4 + EXIF.length));
			kept.push(segment);
		}
		at = end;
	}
	const behind = bytes.subarray(at);
	const { taken, ...more } = emptyBehind(behind);
	found.push(...more.found);
	kept.push(behind);
	return found.length === 0
		? { bytes: original, found, taken }
		: { bytes: Buffer.concat(kept), found, taken };
}

/** In place, in the picture's own bytes and all that follow them; by chance neither beginning stands in a picture. */
function emptyBehind(bytes: Uint8Array): Omit<Scrubbed, 'bytes'> & { readonly taken: boolean } {
	const found = Array.from(
		{ length: emptyExifAnywhere(bytes, 0) },
		() => 'position in EXIF behind the picture',
	);
	const clipAt = latin(bytes, 0, bytes.length).indexOf('ftyp') - 4;
	if (clipAt < 0) return { found, taken: true };
	const clip = scrubMp4(bytes.subarray(clipAt));
	bytes.set(clip.bytes, clipAt);
	const ofClip = clip.found.map((words) => `${words} of the clip behind the picture`);
	return { found: [...found, ...ofClip], taken: clip.taken };
}

const EXIF_WORDS = 'position in EXIF';

function placeIn(segment: Uint8Array): string | null {
	const kind = segment[1] ?? 0;
	const body = latin(segment, 4, segment.length);
	if (kind === 0xe1 && body.startsWith(EXIF))
		return holdsGps(segment.subarray(4 + EXIF.length)) ? EXIF_WORDS : null;
	if (kind === 0xe1 && body.startsWith('http://ns.adobe.com/'))
		return tellsPlace(body) ? 'place in XMP' : null;
	if (kind === 0xed && IPTC_PLACES.some((record) => body.includes(record))) return 'place in IPTC';
	return null;
}
