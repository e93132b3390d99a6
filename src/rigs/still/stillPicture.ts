/** A still from a file, or why it cannot be used: what was seen and what to do. PNG and JPEG, 8 bits, grey or colour. */
import { readFile } from 'node:fs/promises';
import { OutsideFailure } from '../../failure.ts';
import type { Raster } from '../../imaging/raster.ts';
import { decodeJpeg, jpegFacts } from '../../media/node/jpeg.ts';
import { decodePng } from '../../media/node/png.ts';

export type Still = {
	readonly raster: Raster;
	/** What a person should know of the file: that it asks to be turned, say. */
	readonly notes: readonly string[];
};

/** Throws `OutsideFailure` whose code begins with `still`, or `pngUnreadable`, `jpegUnreadable`. */
export async function readStill(path: string): Promise<Still> {
	const bytes = await readFile(path).catch((cause) => {
		throw new OutsideFailure(
			'stillMissing',
			`${path} could not be opened.`,
			'Check the name of the picture.',
			{ cause },
		);
	});
	return stillOf(bytes, path);
}

export function stillOf(bytes: Uint8Array, name: string): Still {
	if (startsWith(bytes, [0x89, 0x50, 0x4e, 0x47])) return pngStill(bytes, name);
	if (startsWith(bytes, [0xff, 0xd8])) return jpegStill(bytes, name);
	const kind = String.fromCharCode(...bytes.subarray(4, 12));
	if (/^ftyp(heic|heix|mif1|avif)/.test(kind))
		throw new OutsideFailure(
			'stillForeign',
			`${name} is a HEIC or AVIF picture, as phones keep them.`,
			'Have the phone save stills as JPEG ("most compatible"), or export it as PNG.',
		);
	throw new OutsideFailure(
		'stillForeign',
		`${name} is neither a PNG nor a JPEG picture.`,
		'Give a still as PNG or JPEG, 8 bits, as the kit saved it.',
	);
}

const PNG_BIT_DEPTH_AT = 24;

function pngStill(bytes: Uint8Array, name: string): Still {
	const depth = bytes[PNG_BIT_DEPTH_AT];
	if (depth === 16) throw tooDeep(name, depth);
	return { raster: decodePng(bytes), notes: [] };
}

function jpegStill(bytes: Uint8Array, name: string): Still {
	const facts = jpegFacts(bytes);
	if (facts !== null && facts.bitsPerSample !== 8) throw tooDeep(name, facts.bitsPerSample);
	if (facts?.componentCount === 4)
		throw new OutsideFailure(
			'stillCmyk',
			`${name} holds printing colours (CMYK), not what a camera saw.`,
			'Give the file as the kit saved it, or export it as sRGB.',
		);
	const turned = facts?.orientation ?? 1;
	const notes =
		turned === 1
			? []
			: [`${name} asks to be turned when shown (EXIF orientation ${turned}); it was read as it is stored.`];
	return { raster: decodeJpeg(bytes), notes };
}

function tooDeep(name: string, bits: number): OutsideFailure {
	return new OutsideFailure(
		'stillDeep',
		`${name} holds ${bits} bits a colour; what its codes mean beyond 8 bits (HDR or linear light) is not known here.`,
		'Give it as 8-bit sRGB, as the kit shows it; colour of an HDR picture is not measured.',
	);
}

function startsWith(bytes: Uint8Array, first: readonly number[]): boolean {
	return first.every((byte, i) => bytes[i] === byte);
}
