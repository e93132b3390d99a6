import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { unzipSync } from 'fflate';
import { PNG } from 'pngjs';
import { expect, test } from 'vitest';
import { holdsGps } from '../../src/pack/exifGps.ts';
import { withoutLocation } from '../../src/pack/location.ts';
import { packCase } from '../../src/pack/packCase.ts';
import { smallerClip } from '../../src/pack/smallerClip.ts';
import { sha256Of } from '../../src/pack/zipFile.ts';
import { box, madeJpeg, madeMp4, madePng, madeTiff, SCAN } from './madeMetadata.ts';

const text = (bytes: Uint8Array): string => Buffer.from(bytes).toString('latin1');

test('a JPEG loses its position in EXIF, XMP and IPTC and keeps its way up and its picture', () => {
	const made = madeJpeg();
	const { kind, bytes, found } = withoutLocation(made);
	expect(made).toEqual(madeJpeg());
	expect(kind).toBe('JPEG');
	expect(found).toEqual(['position in EXIF', 'place in XMP', 'place in IPTC']);
	expect(text(bytes)).not.toMatch(/GPSLatitude|Home/);
	const exifAt = text(bytes).indexOf('Exif\0\0') + 6;
	const tiff = bytes.subarray(exifAt, exifAt + 100);
	expect(holdsGps(tiff)).toBe(false);
	expect([...tiff.subarray(70, 94)].every((byte) => byte === 0)).toBe(true);
	expect(Buffer.from(tiff).readUInt32LE(18)).toBe(6);
	expect(bytes.subarray(bytes.length - SCAN.length)).toEqual(SCAN);
	expect(text(bytes)).toContain('JFIF\0plain');
	expect(withoutLocation(bytes).found).toEqual([]);
});

test('a PNG loses its position and is still the same picture', () => {
	const made = madePng();
	const { kind, bytes, found } = withoutLocation(made);
	expect(kind).toBe('PNG');
	expect(found).toEqual(['position in EXIF', 'place in a tEXt chunk']);
	expect(text(bytes)).not.toContain('51.5 N');
	// The reader checks every chunk's sum.
	expect(PNG.sync.read(Buffer.from(bytes)).data).toEqual(PNG.sync.read(made).data);
});

test('an MP4 loses its position where it lies, so that no offset in it moves', () => {
	const made = madeMp4();
	const { kind, bytes, found } = withoutLocation(made);
	expect(kind).toBe('MP4 or MOV');
	expect(found).toEqual(['position in \u00a9xyz', 'position in a key']);
	expect(bytes.length).toBe(made.length);
	// What stands in the pictures themselves is not metadata and is not touched.
	expect(text(bytes).match(/\+51\.5007/g)).toHaveLength(1);
	expect(text(bytes)).toContain('a phone');
	expect(withoutLocation(bytes).found).toEqual([]);
});

test('files without a position come back as they are, and unknown kinds are called so', () => {
	const plain = Buffer.concat([box('ftyp', Buffer.from('isom')), box('mdat', Buffer.from('x'))]);
	expect(withoutLocation(plain).bytes).toBe(plain);
	expect(withoutLocation(Buffer.from('RIFF....AVI LIST'))).toMatchObject({
		kind: 'not looked through',
		taken: false,
		found: [],
	});
	expect(holdsGps(madeTiff().subarray(0, 30))).toBe(false);
});

test('a position under a key or box that nobody knows is blotted out all the same, and not in the pictures', () => {
	const unknown = box('moov', box('xyzw', Buffer.from('somewhere +51.5007-000.1246/ else')));
	const made = Buffer.concat([
		...[box('ftyp', Buffer.from('isom')), unknown, box('mdat', Buffer.from('+51.5007-000.1246/'))],
	]);
	const { bytes, found } = withoutLocation(made);
	expect(found).toEqual(['a written position']);
	expect(text(bytes)).toContain('somewhere +00.0000-000.0000/ else');
	expect(text(bytes)).toContain('mdat+51.5007');
});

test('XMP that tells a place is emptied where it lies in an MP4', () => {
	const xmp = box('uuid', Buffer.from(`${'x'.repeat(16)}<exif:GPSLatitude>51,30N</exif:GPSLatitude>`));
	const made = Buffer.concat([box('ftyp', Buffer.from('isom')), xmp]);
	const { bytes, found } = withoutLocation(made);
	expect(found).toEqual(['place in XMP']);
	expect(text(bytes)).not.toContain('51,30N');
	expect(bytes.length).toBe(made.length);
});

test('a position that cannot be taken out keeps the file from being packed unless it is to stay', async () => {
	const pictures = [{ name: 'clip.mkv', bytes: Buffer.from('\x1aE\xdf\xa3 LOCATION +51.5007-000.1246/') }];
	const at = new Date('2026-03-01T10:00:00Z');
	const pack = (keepLocation: boolean) => {
		const path = join(mkdtempSync(join(tmpdir(), 'steerworthy-pack-')), 'pack.zip');
		return packCase({ path, about, pictures, reading: null, keepLocation, at, toolVersion: '0' });
	};
	await expect(pack(false)).rejects.toThrow(/clip.mkv tells where it was taken/);
	expect((await pack(true)).files[0]?.location).toContain('LEFT IN');
});

test('a torn file of any kind is searched without harm', () => {
	for (const whole of [madeJpeg(), madePng(), madeMp4()])
		for (let length = 0; length < whole.length; length += 3)
			expect(() => withoutLocation(whole.subarray(0, length))).not.toThrow();
});

const about = {
	...{ animal: '<b>Bess</b>', date: '2026-03-01', side: 'left', structure: 'arytenoid', sedated: 'no' },
	...{ question: 'Is it whole?', encoding: 'original', consent: 'owner, 1 March' },
};

async function packed(keepLocation: boolean) {
	const path = join(mkdtempSync(join(tmpdir(), 'steerworthy-pack-')), 'pack.zip');
	const pictures = [{ name: 'still.jpg', bytes: madeJpeg() }];
	const at = new Date('2026-03-01T10:00:00Z');
	const told = await packCase({ path, about, pictures, reading: null, keepLocation, at, toolVersion: '0' });
	return { told, path, files: unzipSync(readFileSync(path)) };
}

test('the pack holds cover, picture and hashes, and the hashes are those of what is in it', async () => {
	const { files, told } = await packed(false);
	expect(Object.keys(files)).toEqual(['index.html', 'still.jpg', 'hashes.txt']);
	const hashes = text(files['hashes.txt']!).trim().split('\n');
	for (const line of hashes) {
		const [hash, name = ''] = line.split('  ');
		expect(sha256Of(files[name]!)).toBe(hash);
	}
	expect(text(files['still.jpg']!)).not.toContain('GPSLatitude');
	expect(told.files[0]?.location).toContain('taken out');
});

test('the cover warns of the patient’s data, asks the question, and needs nothing from elsewhere', async () => {
	const cover = Buffer.from((await packed(false)).files['index.html']!).toString();
	for (const words of ['Is it whole?', 'patient’s pictures', 'arytenoid', 'owner, 1 March', 'not known'])
		expect(cover).toContain(words);
	expect(cover).not.toContain('<b>Bess');
	expect(cover).not.toMatch(/https?:\/\/|<script/);
});

test('a position that is to stay stays, and the cover says so', async () => {
	const { files } = await packed(true);
	expect(text(files['still.jpg']!)).toContain('GPSLatitude');
	expect(Buffer.from(files['index.html']!).toString()).toContain('LEFT IN');
});

test('without an encoder no smaller clip is made, and that is said', async () => {
	await expect(smallerClip(madeMp4(), { megabytes: 1, program: 'no-such-encoder' })).rejects.toThrow(
		/No no-such-encoder was found/,
	);
});
