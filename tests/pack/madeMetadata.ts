/** Files with a position in them, put together byte by byte as cameras write them; no camera wrote these. */
import { crc32 } from 'node:zlib';
import { createRaster } from '../../src/imaging/raster.ts';
import { encodePng } from '../../src/media/node/png.ts';

/** TIFF block, little-endian: orientation 6, and a position with a latitude of three ratios and its N. */
export function madeTiff(): Buffer {
	const tiff = Buffer.alloc(100);
	tiff.write('II*\0', 0, 'latin1');
	tiff.writeUInt32LE(8, 4);
	tiff.writeUInt16LE(2, 8);
	entry(tiff, 10, [0x0112, 3, 1, 6]);
	entry(tiff, 22, [0x8825, 4, 1, 38]);
	tiff.writeUInt16LE(2, 38);
	entry(tiff, 40, [1, 2, 2, 'N'.charCodeAt(0)]);
	entry(tiff, 52, [2, 5, 3, 70]);
	for (const [i, value] of [51, 1, 30, 1, 2, 1].entries()) tiff.writeUInt32LE(value, 70 + 4 * i);
	return tiff;
}

/** The same position big-endian, as some makers write it; only the position. */
export function madeBigTiff(): Buffer {
	const tiff = Buffer.alloc(100);
	tiff.write('MM\0*', 0, 'latin1');
	tiff.writeUInt32BE(8, 4);
	tiff.writeUInt16BE(1, 8);
	bigEntry(tiff, 10, [0x8825, 4, 1, 38]);
	tiff.writeUInt16BE(1, 38);
	bigEntry(tiff, 40, [2, 5, 3, 70]);
	for (const [i, value] of [51, 1, 30, 1, 2, 1].entries()) tiff.writeUInt32BE(value, 70 + 4 * i);
	return tiff;
}

function bigEntry(
	tiff: Buffer,
	at: number,
	[tag, type, count, value]: readonly [number, number, number, number],
): void {
	tiff.writeUInt16BE(tag, at);
	tiff.writeUInt16BE(type, at + 2);
	tiff.writeUInt32BE(count, at + 4);
	tiff.writeUInt32BE(value, at + 8);
}

function entry(
	tiff: Buffer,
	at: number,
	[tag, type, count, value]: readonly [number, number, number, number],
): void {
	tiff.writeUInt16LE(tag, at);
	tiff.writeUInt16LE(type, at + 2);
	tiff.writeUInt32LE(count, at + 4);
	tiff.writeUInt32LE(value, at + 8);
}

export function segment(marker: number, body: Buffer): Buffer {
	const head = Buffer.from([0xff, marker, 0, 0]);
	head.writeUInt16BE(body.length + 2, 2);
	return Buffer.concat([head, body]);
}

export const SCAN = Buffer.from([0xff, 0xda, 0, 2, 1, 2, 3, 0xff, 0xd9]);

export function madeJpeg(): Buffer {
	const exif = segment(0xe1, Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), madeTiff()]));
	const xmp = segment(
		0xe1,
		Buffer.from('http://ns.adobe.com/xap/1.0/\0<x exif:GPSLatitude="51,30.0N"/>', 'latin1'),
	);
	const iptc = segment(0xed, Buffer.from('Photoshop 3.0\x008BIM\x1c\x02\x5a\x00\x04Home', 'latin1'));
	const plain = segment(0xe0, Buffer.from('JFIF\0plain', 'latin1'));
	return Buffer.concat([Buffer.from([0xff, 0xd8]), plain, exif, xmp, iptc, SCAN]);
}

export function madePng(): Buffer {
	const plain = Buffer.from(encodePng(createRaster(2, 2)));
	const header = plain.subarray(0, 33);
	const text = Buffer.from('Comment\0GPS 51.5 N', 'latin1');
	return Buffer.concat([header, chunk('eXIf', madeTiff()), chunk('tEXt', text), plain.subarray(33)]);
}

export function chunk(type: string, data: Buffer): Buffer {
	const named = Buffer.concat([Buffer.from(type, 'latin1'), data]);
	const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)];
	length.writeUInt32BE(data.length);
	check.writeUInt32BE(crc32(named));
	return Buffer.concat([length, named, check]);
}

export function box(type: string, ...bodies: readonly Buffer[]): Buffer {
	const head = Buffer.alloc(8);
	head.writeUInt32BE(8 + bodies.reduce((sum, body) => sum + body.length, 0));
	head.write(type, 4, 'latin1');
	return Buffer.concat([head, ...bodies]);
}

const PLACE = '+51.5007-000.1246/';

/** Four bytes, the greatest first. */
export function number(value: number): Buffer {
	const bytes = Buffer.alloc(4);
	bytes.writeUInt32BE(value);
	return bytes;
}

/** A list of keys and of their items, by pairs; an old QuickTime `meta`, without a version. */
export function keyedItems(pairs: readonly (readonly [key: string, text: string])[]): Buffer {
	const keys = pairs.map(([key]) => box('mdta', Buffer.from(key, 'latin1')));
	const items = pairs.map(([, text], i) =>
		box(number(i + 1).toString('latin1'), box('data', number(1), number(0), Buffer.from(text, 'latin1'))),
	);
	return box('meta', box('keys', number(0), number(pairs.length), ...keys), box('ilst', ...items));
}

/** One track of these samples, at these offsets in the file, in chunks of one sample. */
export function madeTrack(track: {
	readonly handler: string;
	readonly entry: string;
	/** Of the sample description, behind its name. */
	readonly description?: string;
	readonly samples: readonly { readonly at: number; readonly length: number }[];
	readonly longOffsets?: boolean;
}): Buffer {
	const { handler, entry: name, description = '', samples } = track;
	const count = number(samples.length);
	const offsets = samples.map(({ at }) =>
		track.longOffsets === true ? Buffer.concat([number(0), number(at)]) : number(at),
	);
	const tables = box(
		'stbl',
		box('stsd', number(0), number(1), box(name, Buffer.alloc(8), Buffer.from(description, 'latin1'))),
		box('stsz', number(0), number(0), count, ...samples.map(({ length }) => number(length))),
		box('stsc', number(0), number(1), number(1), number(1), number(1)),
		box(track.longOffsets === true ? 'co64' : 'stco', number(0), count, ...offsets),
	);
	const head = box('hdlr', number(0), number(0), Buffer.from(handler, 'latin1'), Buffer.alloc(12));
	return box('trak', box('mdia', head, box('minf', tables)));
}

/** A phone's: user data with ©xyz, and a list of keys of which the second is a position. */
export function madeMp4(): Buffer {
	const meta = keyedItems([
		['com.apple.quicktime.make', 'a phone'],
		['com.apple.quicktime.location.ISO6709', PLACE],
	]);
	const xyz = box('\u00a9xyz', Buffer.from(`\0\x12\x15\xc7${PLACE}`, 'latin1'));
	return Buffer.concat([
		box('ftyp', Buffer.from('isom', 'latin1')),
		box('mdat', Buffer.from(`picture ${PLACE}`, 'latin1')),
		box('moov', box('udta', xyz), meta),
	]);
}
