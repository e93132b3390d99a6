/** What can be wrong with a video file, each by its name, with what to do about it. */
import { open, stat } from 'node:fs/promises';
import { OutsideFailure } from '../../failure.ts';

/** Throws what can be told of a file without a decoder: not there, empty, a video that was never closed. */
export async function checkClipFile(path: string): Promise<void> {
	const found = await stat(path).catch((cause) => {
		throw new OutsideFailure('clipMissing', `There is no file ${path}.`, 'Check the name and the folder.', {
			cause,
		});
	});
	if (!found.isFile())
		throw new OutsideFailure('clipMissing', `${path} is no file.`, 'Give the video file itself.');
	if (found.size === 0)
		throw new OutsideFailure(
			'clipEmpty',
			`${path} is empty (zero bytes).`,
			'Copy it again from the phone or the kit, by cable; a file that is empty there too is lost.',
		);
	if (await isUnclosedMp4(path, found.size)) throw clipNotClosed(path);
}

function clipNotClosed(path: string): OutsideFailure {
	return new OutsideFailure(
		'clipNotClosed',
		`${path} is a recording that was not closed properly: its table of pictures is missing, so nothing in it can be found.`,
		'Copy the original again, whole. If the original is so too, battery or app ended before it was closed, and it is lost: film again. Of a kit’s own recording that is a finding: as a record it is lost.',
	);
}

export function clipNotVideo(path: string): OutsideFailure {
	return new OutsideFailure(
		'clipNotVideo',
		`${path} is not a video file that can be read.`,
		'Give the original file as the phone or the kit wrote it (MP4, MOV, MKV, WebM, AVI), sent by cable or upload and not through a messenger.',
	);
}

export function clipIsStill(path: string): OutsideFailure {
	return new OutsideFailure(
		'clipIsStill',
		`${path} is a still picture, not a moving one.`,
		'Give a clip; stills are judged by the still command.',
	);
}

export function clipNoPicture(path: string): OutsideFailure {
	return new OutsideFailure(
		'clipNoPicture',
		`${path} has no video track: it holds no picture.`,
		'Give the clip itself, not its sound.',
	);
}

export function codecNotHere(path: string, codec: string, by: string): OutsideFailure {
	return new OutsideFailure(
		'codecNotHere',
		`${path} is coded in ${codec}, which ${by} cannot decode here.`,
		'Film or record in H.264 or HEVC, or install ffmpeg 5.1 or later so that it is found on the PATH.',
	);
}

export function nothingDecoded(path: string): OutsideFailure {
	return new OutsideFailure(
		'clipNothingDecoded',
		`${path} says it is a video, but not one picture of it could be decoded.`,
		'Copy the original again, whole; a file that fails again is damaged.',
	);
}

const BOX_HEADER_BYTES = 16;
/** A file with more boxes than this before its table is no usual one; the decoder may try. */
const MOST_BOXES = 10_000;

/** An MP4 or MOV with pictures but without their table: its boxes are walked, nothing is decoded. */
async function isUnclosedMp4(path: string, size: number): Promise<boolean> {
	const file = await open(path, 'r');
	try {
		const header = Buffer.alloc(BOX_HEADER_BYTES);
		let at = 0;
		let pictures = false;
		for (let box = 0; box < MOST_BOXES && at + 8 <= size; box++) {
			const { bytesRead } = await file.read(header, 0, BOX_HEADER_BYTES, at);
			if (bytesRead < 8) break;
			const kind = header.toString('latin1', 4, 8);
			if (box === 0 && kind !== 'ftyp') return false;
			if (kind === 'moov') return false;
			if (kind === 'mdat') pictures = true;
			const short = header.readUInt32BE(0);
			const long = short === 1 && bytesRead === BOX_HEADER_BYTES ? Number(header.readBigUInt64BE(8)) : short;
			// Zero: the box runs to the end of the file, as a recorder leaves it that was cut off.
			if (long === 0) break;
			if (long < 8) return false;
			at += long;
		}
		return pictures;
	} finally {
		await file.close();
	}
}
