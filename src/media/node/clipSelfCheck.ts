/**
 * Whether picture and time stamp belong together on this machine, before any clip is believed: a made clip with B-pictures and
 * uneven times is read by the same back end, and each picture must carry the time that its luma names. (A library was found that
 * gives times in the order of decoding: 116 of 180 pictures wrong, and every delay with them.)
 */
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { OutsideFailure } from '../../failure.ts';
import type { ClipSource } from '../../imaging/clipFrame.ts';
import { clipMs } from '../../imaging/clipFrame.ts';
import { SELF_CHECK_PICTURES, selfCheckBytes, selfCheckLuma, selfCheckTicks } from './selfCheckClip.ts';

/** Half the step between two luma codes of the clip, less what the codec may add. */
const LUMA_SLACK = 3;
const TIME_SLACK_MS = 0.05;
const TICKS_PER_MS = 90;

const passed = new Set<string>();

/** Throws `OutsideFailure` `selfCheckFailed`. Done once a process for each back end. */
export async function checkTimesBelong(
	open: (path: string) => Promise<ClipSource>,
	readBy: string,
): Promise<void> {
	if (passed.has(readBy)) return;
	const folder = await mkdtemp(join(tmpdir(), 'steerworthy-'));
	try {
		const path = join(folder, 'check.mp4');
		await writeFile(path, Buffer.from(selfCheckBytes, 'base64'));
		const wrong = await wrongPictures(await open(path));
		if (wrong > 0) throw selfCheckFailed(wrong, readBy);
		passed.add(readBy);
	} finally {
		await rm(folder, { recursive: true, force: true });
	}
}

/** How many pictures of the made clip are missing or carry another's time. */
export async function wrongPictures(source: ClipSource): Promise<number> {
	let right = 0;
	let count = 0;
	for await (const { ticks, luma } of source.frames()) {
		const picture = count++;
		const middle = luma.data[(luma.heightPx >> 1) * luma.stride + (luma.widthPx >> 1)]!;
		const atMs = clipMs(ticks, source.info.timeBase);
		const isRight =
			Math.abs(middle - selfCheckLuma(picture)) <= LUMA_SLACK &&
			Math.abs(atMs - selfCheckTicks(picture) / TICKS_PER_MS) <= TIME_SLACK_MS;
		if (isRight) right++;
	}
	source.close();
	return Math.max(count, SELF_CHECK_PICTURES) - right;
}

function selfCheckFailed(wrong: number, readBy: string): OutsideFailure {
	return new OutsideFailure(
		'selfCheckFailed',
		`${readBy} gives pictures and times that do not belong together on this computer: ${wrong} of ${SELF_CHECK_PICTURES} wrong in a made clip.`,
		'Nothing it reads may be believed. Name the other decoder on the command line (--decoder library or --decoder ffmpeg), or install the packages again.',
	);
}
