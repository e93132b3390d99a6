/**
 * A position in an MP4 or MOV: the boxes `©xyz` and `loci` of user data, XMP in `uuid` or `XMP_`, and the value under
 * any key of an item list that names a location (`com.apple.quicktime.location.ISO6709`, `location`); and whatever else beside
 * the pictures is written as a position is. Each is emptied where it lies, its length kept, so that no offset in the
 * file moves. (ISO base media layout and the boxes' names, from memory.)
 */
import { latin, type Scrubbed, tellsPlace, WRITTEN_POSITION } from './metadataText.ts';

/** Boxes that hold boxes, on the way to where a position may lie. */
const CONTAINERS = ['moov', 'udta', 'trak', 'mdia', 'meta', 'ilst'];
const LOCATION_KEY = /location|gps|geo|latitude|longitude/i;

type Box = { readonly type: string; readonly at: number; readonly bodyAt: number; readonly end: number };
type File = { readonly bytes: Uint8Array; readonly view: DataView; readonly found: string[] };

export function scrubMp4(original: Uint8Array): Scrubbed {
	// Not slice(): of a Buffer that is a view on the same bytes.
	const bytes = new Uint8Array(original);
	const file: File = { bytes, view: new DataView(bytes.buffer), found: [] };
	const whole = { from: 0, to: bytes.length, locationItems: new Set<number>() };
	walk(file, whole);
	for (const box of boxesIn(file, whole)) if (box.type !== 'mdat') emptyWritten(file, box);
	return file.found.length === 0 ? { bytes: original, found: [] } : { bytes, found: file.found };
}

type Stretch = {
	readonly from: number;
	readonly to: number;
	/** Numbers of the keys, counted from 1, whose item in a list is a position. */
	readonly locationItems: ReadonlySet<number>;
};

function walk(file: File, stretch: Stretch): void {
	const boxes = boxesIn(file, stretch);
	const keys = boxes.find(({ type }) => type === 'keys');
	const locationItems = keys === undefined ? stretch.locationItems : locationKeys(file, keys);
	for (const box of boxes) {
		if (box.type === '\u00a9xyz' || box.type === 'loci') empty(file, box, `position in ${box.type}`);
		else if (box.type === 'uuid' || box.type === 'XMP_') {
			if (tellsPlace(latin(file.bytes, box.bodyAt, box.end))) empty(file, box, 'place in XMP');
		} else if (locationItems.has(file.view.getUint32(box.at + 4))) empty(file, box, 'position in a key');
		else if (CONTAINERS.includes(box.type))
			walk(file, { from: box.bodyAt + versionBytes(file, box), to: box.end, locationItems });
	}
}

function boxesIn({ bytes, view }: File, { from, to }: Stretch): Box[] {
	const boxes: Box[] = [];
	let at = from;
	while (at + 8 <= to) {
		const size32 = view.getUint32(at);
		const long = size32 === 1 && at + 16 <= to;
		const size = long ? Number(view.getBigUint64(at + 8)) : size32 === 0 ? to - at : size32;
		const bodyAt = at + (long ? 16 : 8);
		if (at + size < bodyAt || at + size > to) break;
		boxes.push({ type: latin(bytes, at + 4, at + 8), at, bodyAt, end: at + size });
		at += size;
	}
	return boxes;
}

/** `meta` has a version before its boxes in ISO files and none in old QuickTime ones: a box's size tells which. */
function versionBytes({ view, bytes }: File, box: Box): number {
	if (box.type !== 'meta' || box.bodyAt + 12 > box.end) return 0;
	return view.getUint32(box.bodyAt) === 0 && latin(bytes, box.bodyAt + 8, box.bodyAt + 12).trim() !== ''
		? 4
		: 0;
}

/** A list of keys: count, then each as a box of its namespace with its name as the body. */
function locationKeys({ bytes, view }: File, keys: Box): Set<number> {
	const items = new Set<number>();
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

/** The net under the boxes that are known: each digit of a written position becomes 0. */
function emptyWritten({ bytes, found }: File, { bodyAt, end }: Box): void {
	const pattern = new RegExp(WRITTEN_POSITION, 'g');
	for (const { index, 0: words } of latin(bytes, bodyAt, end).matchAll(pattern)) {
		if (!/[1-9]/.test(words)) continue;
		const zeros = words.replace(/\d/g, '0');
		bytes.set(Buffer.from(zeros, 'latin1'), bodyAt + index);
		found.push('a written position');
	}
}

/** What is in it becomes nothing, and it becomes a box that readers skip. */
function empty({ bytes, found }: File, box: Box, words: string): void {
	const body = bytes.subarray(box.bodyAt, box.end);
	if (box.type.startsWith('free') || body.every((byte) => byte === 0)) return;
	body.fill(0);
	bytes.set(Buffer.from('free', 'latin1'), box.at + 4);
	found.push(words);
}
