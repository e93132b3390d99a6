/** The boxes of ISO base media files (MP4, MOV, HEIC): size, type, body; from memory. Read and emptied where they lie, so that no offset moves. */
import { latin } from './metadataText.ts';

export type Box = {
	readonly type: string;
	readonly at: number;
	readonly bodyAt: number;
	readonly end: number;
};
/** A copy of the file that may be changed, and in words what was found in it. */
export type BoxFile = { readonly bytes: Uint8Array; readonly view: DataView; readonly found: string[] };

export function boxFile(original: Uint8Array): BoxFile {
	// Not slice(): of a Buffer that is a view on the same bytes.
	const bytes = new Uint8Array(original);
	return { bytes, view: new DataView(bytes.buffer), found: [] };
}

/** Whole boxes between two offsets; it ends where a size leads nowhere. */
export function boxesIn({ bytes, view }: BoxFile, { from, to }: { from: number; to: number }): Box[] {
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

/** The first box along that path of types within a box; null where there is none. */
export function boxAlong(file: BoxFile, within: Box, path: readonly string[]): Box | null {
	let box: Box = within;
	for (const type of path) {
		const next = boxesIn(file, { from: box.bodyAt, to: box.end }).find((inner) => inner.type === type);
		if (next === undefined) return null;
		box = next;
	}
	return box;
}

/** What is in it becomes nothing, and it becomes a box that readers skip. */
export function emptyBox({ bytes, found }: BoxFile, box: Box, words: string): void {
	const body = bytes.subarray(box.bodyAt, box.end);
	if (box.type === 'free' || body.every((byte) => byte === 0)) return;
	body.fill(0);
	bytes.set(Buffer.from('free', 'latin1'), box.at + 4);
	found.push(words);
}
