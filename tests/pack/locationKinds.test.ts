import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { deflateSync } from 'node:zlib';
import { expect, test } from 'vitest';
import { createRaster } from '../../src/imaging/raster.ts';
import { encodePng } from '../../src/media/node/png.ts';
import { withoutLocation } from '../../src/pack/location.ts';
import {
	box,
	chunk,
	keyedItems,
	madeBigTiff,
	madeTiff,
	madeTrack,
	number,
	SCAN,
	segment,
} from './madeMetadata.ts';

/** Said by no metadata's own words, so that only the one kind can find it. */
const HOME = 'Barnhill';
const words = (text: string): Buffer => Buffer.from(text, 'latin1');
const HALF_A_DEGREE = number(51 * 65_536 + 32_768);
const FTYP = box('ftyp', words('isom'));

const mp4 = (...inside: readonly Buffer[]): Buffer => Buffer.concat([FTYP, box('moov', ...inside)]);
const jpeg = (marker: number, ...body: readonly Buffer[]): Buffer =>
	Buffer.concat([Buffer.from([0xff, 0xd8]), segment(marker, Buffer.concat(body)), SCAN]);
const xmp = (text: string): Buffer => jpeg(0xe1, words(`http://ns.adobe.com/xap/1.0/\0<x ${text}/>`));
const iptc = (record: number): Buffer =>
	jpeg(0xed, words('Photoshop 3.0\x008BIM'), Buffer.from([0x1c, 2, record, 0, 8]), words(HOME));
function png(type: string, data: Buffer): Buffer {
	const plain = Buffer.from(encodePng(createRaster(2, 2)));
	return Buffer.concat([plain.subarray(0, 33), chunk(type, data), plain.subarray(33)]);
}
const packed = deflateSync(words(HOME));
/** 51, 30 and 2 as ratios of one, as EXIF writes degrees, minutes and seconds. */
const LATITUDE = madeTiff().subarray(70, 94);
const BIG_LATITUDE = madeBigTiff().subarray(70, 94);

const KINDS: readonly (readonly [what: string, file: Buffer, secret: Buffer, found: string])[] = [
	['EXIF', jpeg(0xe1, words('Exif\0\0'), madeTiff()), LATITUDE, 'position in EXIF'],
	['big-endian EXIF', jpeg(0xe1, words('Exif\0\0'), madeBigTiff()), BIG_LATITUDE, 'position in EXIF'],
	['IPTC city, 2:90', iptc(90), words(HOME), 'place in IPTC'],
	['IPTC part of a city, 2:92', iptc(92), words(HOME), 'place in IPTC'],
	['IPTC province, 2:95', iptc(95), words(HOME), 'place in IPTC'],
	['IPTC country, 2:101', iptc(101), words(HOME), 'place in IPTC'],
	...[
		...['exif:GPSAreaInformation', 'Iptc4xmpCore:Location', 'Iptc4xmpExt:LocationCreated', 'photoshop:City'],
		...['photoshop:State', 'photoshop:Country', 'x:GeoTag', 'x:ISO6709', 'geo:lat', 'geo:long'],
		...['drone:latitude', 'drone:longitude'],
	].map((name) => [`XMP ${name}`, xmp(`${name}="${HOME}"`), words(HOME), 'place in XMP'] as const),
	['EXIF of a PNG', png('eXIf', madeTiff()), LATITUDE, 'position in EXIF'],
	['plain text of a PNG', png('tEXt', words(`GPS\0${HOME}`)), words(HOME), 'place in a tEXt chunk'],
	['plain iTXt', png('iTXt', words(`GPS\0\0\0\0\0${HOME}`)), words(HOME), 'place in a iTXt chunk'],
	[
		'compressed iTXt',
		png('iTXt', Buffer.concat([words('Comment\0\x01\0\0\0'), packed])),
		packed,
		'place in a iTXt chunk',
	],
	[
		'zTXt, whose words nobody has read',
		png('zTXt', Buffer.concat([words('Comment\0\0'), packed])),
		packed,
		'place in a zTXt chunk',
	],
	['\u00a9xyz', mp4(box('udta', box('\u00a9xyz', words(HOME)))), words(HOME), 'position in \u00a9xyz'],
	['@xyz', mp4(box('udta', box('@xyz', words(HOME)))), words(HOME), 'position in @xyz'],
	[
		'loci',
		mp4(box('udta', box('loci', number(0), words(`\x15\xc7${HOME}\0\0`), HALF_A_DEGREE, HALF_A_DEGREE))),
		Buffer.concat([words(HOME), Buffer.alloc(2), HALF_A_DEGREE]),
		'position in loci',
	],
	[
		'user data of a track',
		mp4(
			box(
				'trak',
				box('mdia', box('hdlr', Buffer.alloc(8), words('vide'), Buffer.alloc(12))),
				box('udta', box('loci', words(HOME))),
			),
		),
		words(HOME),
		'position in loci',
	],
	['XMP_', mp4(box('udta', box('XMP_', words(`photoshop:City="${HOME}"`)))), words(HOME), 'place in XMP'],
	[
		'XMP in uuid',
		Buffer.concat([FTYP, box('uuid', Buffer.alloc(16), words(`photoshop:City="${HOME}"`))]),
		words(HOME),
		'place in XMP',
	],
	...[
		'com.apple.quicktime.location.ISO6709',
		'com.apple.quicktime.location.name',
		'GPS',
		'maker.geo',
		'maker.latitude',
		'maker.longitude',
	].map(
		(key) =>
			[
				`the key ${key}`,
				mp4(
					keyedItems([
						['maker.model', 'a phone'],
						[key, HOME],
					]),
				),
				words(HOME),
				'position in a key',
			] as const,
	),
	[
		'a free name of an item list',
		mp4(
			box(
				'udta',
				box('meta', number(0), box('ilst', box('----', box('name', words('location')), words(HOME)))),
			),
		),
		words(HOME),
		'position under a free name',
	],
	[
		'EXIF of a HEIC',
		Buffer.concat([box('ftyp', words('heic')), box('mdat', number(6), words('Exif\0\0'), madeBigTiff())]),
		BIG_LATITUDE,
		'position in EXIF',
	],
	[
		'XMP of an AVIF',
		Buffer.concat([
			box('ftyp', words('avif')),
			box('mdat', words(`<x:xmpmeta photoshop:City="${HOME}"></x:xmpmeta>`)),
		]),
		words(HOME),
		'place in XMP',
	],
	[
		'a smaller picture behind a JPEG',
		Buffer.concat([jpeg(0xe0, words('JFIF')), jpeg(0xe1, words('Exif\0\0'), madeTiff())]),
		LATITUDE,
		'position in EXIF behind the picture',
	],
	[
		'a clip behind a JPEG',
		Buffer.concat([jpeg(0xe0, words('JFIF')), mp4(box('udta', box('\u00a9xyz', words(HOME))))]),
		words(HOME),
		'position in \u00a9xyz of the clip behind the picture',
	],
	[
		'what is hung on behind an MP4',
		Buffer.concat([mp4(), Buffer.alloc(12, 0xff), words('maker +51.5007-000.1246/')]),
		words('51.5007'),
		'a written position',
	],
];

test.each(KINDS)('%s is found alone, and gone from the bytes', (_what, file, secret, found) => {
	expect(file.includes(secret)).toBe(true);
	const read = withoutLocation(file);
	expect(read.taken).toBe(true);
	expect(read.found).toEqual([found]);
	expect(Buffer.from(read.bytes).includes(secret)).toBe(false);
	expect(withoutLocation(read.bytes).found).toEqual([]);
});

const PICTURE = words('the picture itself');

/** A clip of a picture track and one more, whose two samples lie on both sides of the picture's. */
function clipWith(
	track: Omit<Parameters<typeof madeTrack>[0], 'samples'>,
	text = `place ${HOME}`,
): { clip: Buffer; pictureAt: number } {
	const samples = [words(text), words(`more ${text}`)] as const;
	const from = FTYP.length + 8;
	const pictureAt = from + samples[0].length;
	const media = box('mdat', samples[0], PICTURE, samples[1]);
	const picture = { handler: 'vide', entry: 'avc1', samples: [{ at: pictureAt, length: PICTURE.length }] };
	const other = [
		{ at: from, length: samples[0].length },
		{ at: pictureAt + PICTURE.length, length: samples[1].length },
	];
	const moov = box('moov', madeTrack(picture), madeTrack({ ...track, samples: other }));
	return { clip: Buffer.concat([FTYP, media, moov]), pictureAt };
}

test.each([
	['gpmd', { handler: 'meta', entry: 'gpmd' }],
	['camm', { handler: 'camm', entry: 'camm' }],
	['camm', { handler: 'meta', entry: 'camm', longOffsets: true }],
	['mebx', { handler: 'meta', entry: 'mebx', description: 'keys mdta com.apple.quicktime.location.ISO6709' }],
	['tx3g', { handler: 'sbtl', entry: 'tx3g', text: `[latitude: 51.5] [longitude: -0.1] ${HOME}` }],
	['text', { handler: 'text', entry: 'text', text: `+51.5007-000.1246/ ${HOME}` }],
] as const)(
	'a track of %s loses its samples and is skipped; the picture is untouched',
	(name, { ...track }) => {
		const { clip, pictureAt } = clipWith(track, 'text' in track ? track.text : undefined);
		const { bytes, found, taken } = withoutLocation(clip);
		expect({ found, taken }).toEqual({
			found: [`a track of data beside the picture (${name})`],
			taken: true,
		});
		expect(bytes.length).toBe(clip.length);
		expect(Buffer.from(bytes).includes(HOME)).toBe(false);
		expect(Buffer.from(bytes).includes(name)).toBe(false);
		expect(Buffer.from(bytes).subarray(pictureAt, pictureAt + PICTURE.length)).toEqual(PICTURE);
		expect(Buffer.from(bytes).includes('avc1')).toBe(true);
		expect(withoutLocation(bytes).found).toEqual([]);
	},
);

test.each([
	['sound', { handler: 'soun', entry: 'mp4a' }],
	['time code', { handler: 'tmcd', entry: 'tmcd' }],
	['subtitles that tell no place', { handler: 'sbtl', entry: 'tx3g' }],
	['chapters that tell no place', { handler: 'text', entry: 'text' }],
	['captions that tell no place', { handler: 'clcp', entry: 'c608' }],
	['subtitles of another kind that tell no place', { handler: 'subt', entry: 'stpp' }],
	[
		'face data under keys that name no place',
		{ handler: 'meta', entry: 'mebx', description: 'keys mdta face' },
	],
] as const)('%s stays as it is', (_what, track) => {
	const { clip } = clipWith(track);
	expect(withoutLocation(clip)).toMatchObject({ bytes: clip, found: [], taken: true });
});

test('a track of data whose samples cannot be found is told, and not called taken out', () => {
	const { clip } = clipWith({ handler: 'meta', entry: 'gpmd' });
	const torn = Buffer.from(clip);
	torn.write('xxxx', torn.lastIndexOf('stsz'), 'latin1');
	const fragmented = Buffer.concat([clip, box('moof', Buffer.alloc(8))]);
	const beyond = Buffer.from(clip);
	beyond.writeUInt32BE(clip.length, beyond.lastIndexOf('stco') + 12);
	for (const file of [torn, fragmented, beyond])
		expect(withoutLocation(file)).toMatchObject({
			...{ found: ['a track of data beside the picture (gpmd)'], taken: false },
		});
});

const hasEncoder = spawnSync('ffmpeg', ['-version']).status === 0;

test.skipIf(!hasEncoder)(
	'a clip that ffmpeg wrote plays the same pictures afterwards, without its place and its track of words',
	() => {
		const folder = mkdtempSync(join(tmpdir(), 'steerworthy-place-'));
		const [from, to] = [join(folder, 'from.mp4'), join(folder, 'to.mp4')];
		const words = join(folder, 'words.srt');
		writeFileSync(words, `1\n00:00:00,000 --> 00:00:01,000\nGPS (${HOME}, 0.1, 15)\n`);
		const ffmpeg = (...args: readonly string[]): string =>
			spawnSync('ffmpeg', ['-v', 'error', ...args], { encoding: 'utf8' }).stdout;
		const picture = ['-f', 'lavfi', '-i', 'testsrc=size=64x48:rate=10:duration=1', '-i', words];
		const place = ['-metadata', `location=+51.5007-000.1246/`];
		ffmpeg(...picture, ...place, '-c:v', 'mpeg4', '-c:s', 'mov_text', '-y', from);
		const clip = readFileSync(from);
		expect(clip.includes(HOME)).toBe(true);
		const { bytes, found } = withoutLocation(clip);
		// Which box it writes the place into is its own affair.
		expect(found).toEqual([
			expect.stringMatching(/^position in (loci|\u00a9xyz)$/),
			'a track of data beside the picture (tx3g)',
		]);
		writeFileSync(to, bytes);
		const pictures = (path: string): string => ffmpeg('-i', path, '-map', '0:v', '-f', 'framemd5', '-');
		expect(pictures(to)).toBe(pictures(from));
		expect(pictures(to)).toMatch(/0,\s+9,/);
		expect(Buffer.from(bytes).includes(HOME)).toBe(false);
	},
);
