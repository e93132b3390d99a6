/** Stills that cannot be judged, each through the command: what it saw, what to do, and no run left behind. */
import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { createRaster, type Raster } from '../../src/imaging/raster.ts';
import { encodeJpeg } from '../../src/media/node/jpeg.ts';
import { encodePng } from '../../src/media/node/png.ts';
import { cardPicture } from '../reading/madeCardPicture.ts';
import { emptyFolder, steerworthy } from './program.ts';

const VIEW = { widthPx: 560, heightPx: 430, pxPerMm: 6.4, noiseCodes: 1 };
const card = cardPicture(VIEW);
const root = emptyFolder();

function flat(code: number): Raster {
	const raster = createRaster(VIEW.widthPx, VIEW.heightPx);
	raster.rgba.fill(code);
	for (let at = 3; at < raster.rgba.length; at += 4) raster.rgba[at] = 255;
	return raster;
}

function kept(name: string, bytes: Uint8Array | string): string {
	const path = join(root, name);
	writeFileSync(path, bytes);
	return path;
}

function deepPng(): Uint8Array {
	const png = Uint8Array.from(encodePng(card));
	png[24] = 16;
	return png;
}

function printingJpeg(): Uint8Array {
	const jpeg = Uint8Array.from(encodeJpeg(card, 90));
	const frame = jpeg.findIndex((byte, i) => byte === 0xff && jpeg[i + 1] === 0xc0);
	jpeg[frame + 9] = 4;
	return jpeg;
}

const still = (...words: readonly string[]) =>
	steerworthy(['still', ...words, '--out', root, '--name', 'a-run']);

test.each([
	[
		'a picture of something else',
		encodePng(flat(120)),
		/No ring of the card.*right card, is it sharp/,
		'stillNoCard',
	],
	[
		'half a card',
		encodePng(cardPicture({ ...VIEW, off: 0.5 })),
		/of the card’s nine rings.*whole card must be in view/,
		'stillPartOfCard',
	],
	['a blown out picture', encodePng(flat(255)), /is burnt out: lower the lamp/, 'stillBlownOut'],
	['a black picture', encodePng(flat(0)), /black/, 'stillBlack'],
	['16 bits', deepPng(), /16 bits a colour.*Give it as 8-bit sRGB/s, 'stillDeep'],
	['printing colours', printingJpeg(), /CMYK.*export it as sRGB/s, 'stillCmyk'],
	['a torn JPEG', Uint8Array.from(encodeJpeg(card, 90)).slice(0, 4000), /JPEG/, 'jpegUnreadable'],
] as const)('%s is refused with what was seen and what to do', async (name, bytes, said, why) => {
	const path = kept(`${name.replaceAll(' ', '-')}.img`, bytes);
	const { code, stdout, stderr } = await still(path);
	expect(code, stdout).toBe(3);
	expect(stderr).toMatch(said);
	expect(stderr).toContain(`(${why})`);
	expect(existsSync(join(root, 'a-run'))).toBe(false);
});

test('a wrong chart file says what is wrong in it', async () => {
	const picture = kept('card.png', encodePng(card));
	const corners = ['--corners', '10,10 500,10 500,400 10,400'];
	const missing = await still(picture, '--chart', join(root, 'none.txt'), ...corners);
	expect([missing.code, missing.stderr]).toEqual([
		3,
		expect.stringMatching(/could not be opened.*chartMissing/s),
	]);
	const prose = await still(
		picture,
		'--chart',
		kept('prose.txt', 'Dear all,\nthe chart is blue.\n'),
		...corners,
	);
	expect([prose.code, prose.stderr]).toEqual([3, expect.stringMatching(/BEGIN_DATA_FORMAT.*chartWrong/s)]);
	const bright = kept(
		'bright.txt',
		'CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B\nEND_DATA_FORMAT\nBEGIN_DATA\nA1 300 10 10\nEND_DATA\n',
	);
	const wrong = await still(picture, '--chart', bright, ...corners);
	expect([wrong.code, wrong.stderr]).toEqual([3, expect.stringMatching(/0 to 255, got 300 10 10/)]);
	expect((await still(picture, '--chart', bright)).code).toBe(2);
	expect(existsSync(join(root, 'a-run'))).toBe(false);
});

test('a picture that asks to be turned, and one that lies on its side, are read as they are and say so', async () => {
	const exif = [
		...[0x45, 0x78, 0x69, 0x66, 0, 0, 0x4d, 0x4d, 0, 0x2a, 0, 0, 0, 8, 0, 1],
		...[0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6, 0, 0, 0, 0, 0, 0],
	];
	const side = encodeJpeg(cardPicture({ ...VIEW, widthPx: 430, heightPx: 560, turnDeg: 90 }), 95);
	const asking = Uint8Array.from([0xff, 0xd8, 0xff, 0xe1, 0, exif.length + 2, ...exif, ...side.slice(2)]);
	const { code, stdout, stderr } = await still(kept('side.jpg', asking));
	expect(code, stderr).toBe(0);
	const words = stdout.replaceAll(/\s+/g, ' ');
	expect(words).toMatch(/asks to be turned when shown \(EXIF orientation 6\); it was read as it is stored/);
	expect(words).toMatch(/card found, turned by (-?90|270) degrees/);
});

test('a kit that the register does not hold is said so before anything is read', async () => {
	for (const words of [['still'], ['recording'], ['lens', '--smeared', '4']]) {
		const { code, stderr } = await steerworthy([
			...words,
			join(root, 'none'),
			'--kit',
			'finch',
			'--out',
			root,
		]);
		expect(code).toBe(3);
		expect(stderr).toMatch(/holds no kit called finch/);
	}
});
