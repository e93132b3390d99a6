import { readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { createRaster } from '../../src/imaging/raster.ts';
import { openClip } from '../../src/media/node/clip.ts';
import { CLIP_CODECS, type ClipPlan, openClipWriter } from '../../src/media/node/clipWriter.ts';
import { encodePng } from '../../src/media/node/png.ts';
import { HAS_FFMPEG, newFolder, readAll, unevenTicks, writeMadeClip } from './madeClips.ts';

const missing = () => Promise.reject(new Error('no such package'));
const failure = (code: string) => expect.objectContaining({ code });

const kinds: [string, Partial<ClipPlan>][] = [
	...CLIP_CODECS.map((codec): [string, Partial<ClipPlan>] => [codec, { codec }]),
	['h264 with B-pictures', { bFrames: 3 }],
	['hevc with B-pictures', { codec: 'hevc', bFrames: 3 }],
	['10-bit h264', { bitDepth: 10 }],
	['10-bit hevc', { codec: 'hevc', bitDepth: 10 }],
];

describe.each(kinds)('a clip in %s with uneven times', (_, plan) => {
	test('gives every picture with its own time, to the tick', async () => {
		const path = await writeMadeClip('clip.mp4', plan);
		const source = await openClip(path, { decoder: 'library' });
		expect(source.info).toMatchObject({
			codec: plan.codec ?? 'h264',
			bitDepth: plan.bitDepth ?? 8,
			widthPx: 96,
			timeBase: { num: 1, den: 90_000 },
			declaredCount: 40,
		});
		const seen = await readAll(source);
		expect(seen.map(({ ticks }) => ticks)).toEqual(Array.from({ length: 40 }, (_, i) => unevenTicks(i)));
		for (const [i, { luma }] of seen.entries()) expect(Math.abs(luma - 40 - 4 * i)).toBeLessThanOrEqual(2);
		expect(source.notes()).toEqual([]);
	});

	test.runIf(HAS_FFMPEG)('is read alike by ffmpeg, to the code and the tick', async () => {
		const path = await writeMadeClip('clip.mp4', plan);
		const ours = await openClip(path, { decoder: 'library' });
		const theirs = await openClip(path, { decoder: 'ffmpeg' });
		const { container, declaredMs, encoding, ...info } = ours.info;
		expect(theirs.info).toMatchObject(info);
		expect(theirs.info.encoding.range).toBe(encoding.range);
		expect(await readAll(theirs)).toEqual(await readAll(ours));
	});
});

/** A turn clockwise, and a mirror before it, as nine numbers (ISO 14496-12: 16.16 fixed point). */
function matrix(turnedDeg: number, mirrored: boolean): Int32Array {
	const [cos, sin] = [Math.cos((turnedDeg * Math.PI) / 180), Math.sin((turnedDeg * Math.PI) / 180)];
	const sign = mirrored ? -1 : 1;
	const one = 65_536;
	return Int32Array.from([sign * cos * one, sign * sin * one, 0, -sin * one, cos * one, 0, 0, 0, 2 ** 30]);
}

test.each([
	[0, true],
	[90, false],
	[180, false],
	[270, false],
	[90, true],
] as const)(
	'a clip to be turned %i degrees (mirrored: %s) says so, and its picture is as coded',
	async (turnedDeg, mirrored) => {
		const path = await writeMadeClip(
			'turned.mp4',
			{ displayMatrix: matrix(turnedDeg, mirrored) },
			[0, 3000, 6000],
		);
		for (const decoder of HAS_FFMPEG ? (['library', 'ffmpeg'] as const) : (['library'] as const)) {
			const source = await openClip(path, { decoder });
			expect(source.info).toMatchObject({ turnedDeg, mirrored, widthPx: 96, heightPx: 64 });
			expect((await readAll(source)).length).toBe(3);
		}
	},
);

describe('a file that is no clip', () => {
	const folder = newFolder();
	const made = (name: string, content: string | Uint8Array) => {
		writeFileSync(join(folder, name), content);
		return join(folder, name);
	};
	const png = encodePng(createRaster(8, 8));

	test.each([
		['is not there', () => join(folder, 'nothing.mp4'), 'clipMissing'],
		['is a folder', () => folder, 'clipMissing'],
		['is empty', () => made('empty.mp4', ''), 'clipEmpty'],
		['is text', () => made('note.txt', 'not a video\n'), 'clipNotVideo'],
		[
			'is noise called mp4',
			() =>
				made(
					'noise.mp4',
					new Uint8Array(5000).map((_, i) => (i * 7919) % 251),
				),
			'clipNotVideo',
		],
		['is a still picture', () => made('still.png', png), 'clipIsStill'],
	])('is refused by name: it %s', async (_, path, code) => {
		await expect(openClip(path(), { decoder: 'library' })).rejects.toEqual(failure(code));
		if (HAS_FFMPEG) await expect(openClip(path(), { decoder: 'ffmpeg' })).rejects.toEqual(failure(code));
	});

	test('is refused by name: it is sound alone', async () => {
		const samples = Buffer.alloc(44 + 8000, 127);
		samples.write('RIFF', 0);
		samples.writeUInt32LE(36 + 8000, 4);
		samples.write('WAVEfmt ', 8);
		samples.writeUInt32LE(16, 16);
		for (const [at, value] of [
			[20, 1],
			[22, 1],
			[32, 1],
			[34, 8],
		] as const)
			samples.writeUInt16LE(value, at);
		samples.writeUInt32LE(8000, 24);
		samples.writeUInt32LE(8000, 28);
		samples.write('data', 36);
		samples.writeUInt32LE(8000, 40);
		await expect(openClip(made('sound.wav', samples))).rejects.toEqual(failure('clipNoPicture'));
	});
});

test('an MP4 whose table of pictures was never written is named as not closed properly', async () => {
	const path = await writeMadeClip('whole.mp4');
	const bytes = readFileSync(path);
	const table = bytes.indexOf('moov') - 4;
	truncateSync(path, table);
	await expect(openClip(path)).rejects.toEqual(failure('clipNotClosed'));
	truncateSync(path, table - 300);
	await expect(openClip(path)).rejects.toEqual(failure('clipNotClosed'));
});

test('a clip that ends before its declared end is read as far as it goes, and says so', async () => {
	const path = await writeMadeClip(
		'long.mkv',
		{},
		Array.from({ length: 200 }, (_, i) => i * 9000),
	);
	truncateSync(path, Math.round(readFileSync(path).length / 2));
	const source = await openClip(path, { decoder: 'library' });
	const seen = await readAll(source);
	expect(seen.length).toBeGreaterThan(40);
	expect(seen.length).toBeLessThan(180);
	expect(source.notes()).toEqual([expect.objectContaining({ code: 'cutOff' })]);
});

test.runIf(HAS_FFMPEG)('without the codec package a clip is read by ffmpeg', async () => {
	const path = await writeMadeClip('clip.mp4');
	const source = await openClip(path, { load: missing });
	expect(source.readBy).toMatch(/ffmpeg/);
	expect(await readAll(source)).toHaveLength(40);
});

test('what is missing is said, where the codec package alone may be used and is not there', async () => {
	const path = await writeMadeClip('clip.mp4');
	await expect(openClip(path, { decoder: 'library', load: missing })).rejects.toEqual(
		failure('decoderMissing'),
	);
});

test('a clip is refused a place that cannot be written, and an ending that is of no video', async () => {
	const plan = { widthPx: 96, heightPx: 64, rateHz: 30 };
	await expect(openClipWriter(join(newFolder(), 'no', 'clip.mp4'), plan)).rejects.toEqual(
		failure('cannotWrite'),
	);
	await expect(openClipWriter(join(newFolder(), 'clip.nothing'), plan)).rejects.toEqual(
		failure('cannotWrite'),
	);
});
