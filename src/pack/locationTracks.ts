/**
 * Positions that run beside the picture: tracks of data as action cameras, phones and drones write them (`gpmd`, `camm`, `mebx` with a
 * key that names a location, subtitles that tell latitude and longitude). What a track of data holds is its maker's own and not
 * read: any that is neither picture, sound, time code nor words is taken for one that may tell the place. Its samples become
 * nothing and the track a box that readers skip; picture and sound are not touched and no offset moves. (Layout of the sample
 * tables: ISO base media, from memory.)
 */
import { type Box, type BoxFile, boxAlong, boxesIn, emptyBox } from './boxes.ts';
import { LOCATION_KEY, latin, tellsPlace, WRITTEN_POSITION } from './metadataText.ts';

/** By the type of the track's handler: hold no place of their own. */
const NO_DATA = ['vide', 'soun', 'tmcd', 'auxv', 'pict', 'hint', 'odsm', 'sdsm'];
const WORDS = ['text', 'sbtl', 'subt', 'clcp'];

type Stretch = { readonly from: number; readonly to: number };

/** False: a track that may tell the place is there and its samples could not be found, so nothing was taken out of it. */
export function emptyDataTracks(file: BoxFile, moov: Box): boolean {
	const top = boxesIn(file, { from: 0, to: file.bytes.length });
	const fragmented = top.some(({ type }) => type === 'moof');
	let whole = true;
	for (const track of boxesIn(file, { from: moov.bodyAt, to: moov.end })) {
		if (track.type !== 'trak') continue;
		const kind = handlerOf(file, track);
		if (NO_DATA.includes(kind)) continue;
		const samples = fragmented ? null : samplesOf(file, track);
		if (!mayTellPlace(file, track, { kind, samples })) continue;
		const name = entryOf(file, track);
		if (samples === null) {
			file.found.push(`a track of data beside the picture (${name})`);
			whole = false;
			continue;
		}
		for (const { from, to } of samples) file.bytes.fill(0, from, to);
		emptyBox(file, track, `a track of data beside the picture (${name})`);
	}
	return whole;
}

type Track = { readonly kind: string; readonly samples: readonly Stretch[] | null };

function mayTellPlace(file: BoxFile, track: Box, { kind, samples }: Track): boolean {
	if (WORDS.includes(kind))
		return (
			samples === null ||
			samples.some(({ from, to }) => {
				const text = latin(file.bytes, from, to);
				return tellsPlace(text) || WRITTEN_POSITION.test(text);
			})
		);
	const description = boxAlong(file, track, ['mdia', 'minf', 'stbl', 'stsd']);
	if (description === null || entryOf(file, track) !== 'mebx') return true;
	return LOCATION_KEY.test(latin(file.bytes, description.bodyAt, description.end));
}

function handlerOf(file: BoxFile, track: Box): string {
	const handler = boxAlong(file, track, ['mdia', 'hdlr']);
	return handler === null ? '' : latin(file.bytes, handler.bodyAt + 8, handler.bodyAt + 12);
}

/** The kind of its samples, as the first entry of their description names it. */
function entryOf(file: BoxFile, track: Box): string {
	const description = boxAlong(file, track, ['mdia', 'minf', 'stbl', 'stsd']);
	const name =
		description === null ? '' : latin(file.bytes, description.bodyAt + 12, description.bodyAt + 16);
	return /^[\w ]{4}$/.test(name) ? name.trim() : 'unnamed';
}

/** Where its samples lie; null where the tables do not tell, or lead out of the file. */
function samplesOf(file: BoxFile, track: Box): Stretch[] | null {
	const tables = boxAlong(file, track, ['mdia', 'minf', 'stbl']);
	if (tables === null) return null;
	const [sizes, runs, chunks] = [sizesOf(file, tables), runsOf(file, tables), chunksOf(file, tables)];
	if (sizes === null || runs === null || chunks === null) return null;
	const found: Stretch[] = [];
	let sample = 0;
	for (const [i, start] of chunks.entries()) {
		const perChunk = runs.findLast(([first]) => first <= i + 1)?.[1] ?? 0;
		let from = start;
		for (let n = 0; n < perChunk && sample < sizes.count; n++, sample++) {
			const to = from + sizes.at(sample);
			if (to > file.bytes.length) return null;
			found.push({ from, to });
			from = to;
		}
	}
	return sample === sizes.count ? found : null;
}

function table(file: BoxFile, tables: Box, { type, entryBytes }: { type: string; entryBytes: number }) {
	const box = boxAlong(file, tables, [type]);
	if (box === null || box.bodyAt + 8 > box.end) return null;
	const count = file.view.getUint32(box.bodyAt + 4);
	return box.bodyAt + 8 + count * entryBytes > box.end ? null : { count, firstAt: box.bodyAt + 8 };
}

function sizesOf(file: BoxFile, tables: Box): { count: number; at: (sample: number) => number } | null {
	const box = boxAlong(file, tables, ['stsz']);
	if (box === null || box.bodyAt + 12 > box.end) return null;
	const [same, count] = [file.view.getUint32(box.bodyAt + 4), file.view.getUint32(box.bodyAt + 8)];
	if (same > 0) return { count, at: () => same };
	if (box.bodyAt + 12 + count * 4 > box.end) return null;
	return { count, at: (sample) => file.view.getUint32(box.bodyAt + 12 + 4 * sample) };
}

/** From which chunk on, counted from 1, how many samples a chunk holds. */
function runsOf(file: BoxFile, tables: Box): [first: number, perChunk: number][] | null {
	const rows = table(file, tables, { type: 'stsc', entryBytes: 12 });
	if (rows === null) return null;
	return Array.from({ length: rows.count }, (_, i) => {
		const at = rows.firstAt + 12 * i;
		return [file.view.getUint32(at), file.view.getUint32(at + 4)];
	});
}

function chunksOf(file: BoxFile, tables: Box): number[] | null {
	const short = table(file, tables, { type: 'stco', entryBytes: 4 });
	if (short !== null)
		return Array.from({ length: short.count }, (_, i) => file.view.getUint32(short.firstAt + 4 * i));
	const long = table(file, tables, { type: 'co64', entryBytes: 8 });
	if (long === null) return null;
	return Array.from({ length: long.count }, (_, i) => Number(file.view.getBigUint64(long.firstAt + 8 * i)));
}
