/**
 * A position in an MP4 or MOV: the boxes `©xyz`, `@xyz` and `loci` of user data, XMP in `uuid` or `XMP_`, the value under any key or
 * free name of an item list that names a location (`com.apple.quicktime.location.ISO6709`, `location`), tracks of data
 * (locationTracks.ts); and whatever else beside the pictures is written as a position is. Each is emptied where it lies, its
 * length kept, so that no offset in the file moves. (ISO base media layout and the boxes' names, from memory.)
 */
import { type Box, type BoxFile, boxesIn, boxFile, emptyBox } from './boxes.ts';
import { emptyDataTracks } from './locationTracks.ts';
import { LOCATION_KEY, latin, type Scrubbed, tellsPlace, WRITTEN_POSITION } from './metadataText.ts';

/** Boxes that hold boxes, on the way to where a position may lie. */
const CONTAINERS = ['moov', 'udta', 'trak', 'mdia', 'meta', 'ilst'];
const POSITION_BOXES = ['\u00a9xyz', '@xyz', 'loci'];

/** `taken` false: a track was found of which nothing could be taken out. */
export function scrubMp4(original: Uint8Array): Scrubbed & { readonly taken: boolean } {
	const file = boxFile(original);
	const { bytes, found } = file;
	const whole = { from: 0, to: bytes.length };
	const top = boxesIn(file, whole);
	walk(file, { ...whole, locationItems: new Set<number>() });
	const moov = top.find(({ type }) => type === 'moov');
	const taken = moov === undefined || emptyDataTracks(file, moov);
	for (const { type, bodyAt, end } of top) if (type !== 'mdat') emptyWritten(file, { from: bodyAt, to: end });
	emptyWritten(file, { from: top.at(-1)?.end ?? 0, to: bytes.length });
	return found.length === 0 ? { bytes: original, found, taken } : { bytes, found, taken };
}

type Stretch = { readonly from: number; readonly to: number };
type Walk = Stretch & {
	/** Numbers of the keys, counted from 1, whose item in a list is a position. */
	readonly locationItems: ReadonlySet<number>;
};

function walk(file: BoxFile, stretch: Walk): void {
	const boxes = boxesIn(file, stretch);
	const keys = boxes.find(({ type }) => type === 'keys');
	const locationItems = keys === undefined ? stretch.locationItems : locationKeys(file, keys);
	for (const box of boxes) {
		const text = (): string => latin(file.bytes, box.bodyAt, box.end);
		if (POSITION_BOXES.includes(box.type)) emptyBox(file, box, `position in ${box.type}`);
		else if (box.type === 'uuid' || box.type === 'XMP_') {
			if (tellsPlace(text())) emptyBox(file, box, 'place in XMP');
		} else if (box.type === '----' && LOCATION_KEY.test(text()))
			emptyBox(file, box, 'position under a free name');
		else if (locationItems.has(file.view.getUint32(box.at + 4))) emptyBox(file, box, 'position in a key');
		else if (CONTAINERS.includes(box.type))
			walk(file, { from: box.bodyAt + versionBytes(file, box), to: box.end, locationItems });
	}
}

/** `meta` has a version before its boxes in ISO files and none in old QuickTime ones: a box's size tells which. */
function versionBytes({ view, bytes }: BoxFile, box: Box): number {
	if (box.type !== 'meta' || box.bodyAt + 12 > box.end) return 0;
	return view.getUint32(box.bodyAt) === 0 && latin(bytes, box.bodyAt + 8, box.bodyAt + 12).trim() !== ''
		? 4
		: 0;
}

/** A list of keys: count, then each as a box of its namespace with its name as the body. */
function locationKeys({ bytes, view }: BoxFile, keys: Box): Set<number> {
	const items = new Set<number>();
	if (keys.bodyAt + 8 > keys.end) return items;
	const count = view.getUint32(keys.bodyAt + 4);
	let at = keys.bodyAt + 8;
	for (let key = 1; key <= count && at + 8 <= keys.end; key++) {
		const size = view.getUint32(at);
		if (size < 8 || at + size > keys.end) break;
		if (LOCATION_KEY.test(latin(bytes, at + 8, at + size))) items.add(key);
		at += size;
	}
	return items;
}

/** The net under what is known: each digit of a written position becomes 0. */
function emptyWritten({ bytes, found }: BoxFile, { from, to }: Stretch): void {
	const pattern = new RegExp(WRITTEN_POSITION, 'g');
	for (const { index, 0: words } of latin(bytes, from, to).matchAll(pattern)) {
		if (!/[1-9]/.test(words)) continue;
		const zeros = words.replace(/\d/g, '0');
		bytes.set(Buffer.from(zeros, 'latin1'), from + index);
		found.push('a written position');
	}
}
