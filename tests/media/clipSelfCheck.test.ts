import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import type { ClipFrame, ClipSource } from '../../src/imaging/clipFrame.ts';
import { createPlanes } from '../../src/imaging/planes.ts';
import { openLibraryClip } from '../../src/media/node/clipLibrary.ts';
import { checkTimesBelong, wrongPictures } from '../../src/media/node/clipSelfCheck.ts';
import { openClipWriter } from '../../src/media/node/clipWriter.ts';
import {
	SELF_CHECK_PICTURES,
	selfCheckBytes,
	selfCheckLuma,
	selfCheckTicks,
} from '../../src/media/node/selfCheckClip.ts';
import { newFolder } from './madeClips.ts';

function keptClip(): string {
	const path = join(newFolder(), 'kept.mp4');
	writeFileSync(path, Buffer.from(selfCheckBytes, 'base64'));
	return path;
}

test('the kept clip holds what its file says, read by the codec package', async () => {
	expect(await wrongPictures(await openLibraryClip(keptClip()))).toBe(0);
});

test('a clip written again by the same recipe holds the same', async () => {
	const path = join(newFolder(), 'again.mp4');
	const writer = await openClipWriter(path, {
		widthPx: 32,
		heightPx: 32,
		rateHz: 30,
		bFrames: 3,
		bitrateKbps: 60,
	});
	for (let picture = 0; picture < SELF_CHECK_PICTURES; picture++) {
		const planes = createPlanes(32, 32);
		planes.y.fill(selfCheckLuma(picture));
		planes.u.fill(128);
		planes.v.fill(128);
		writer.write(planes, selfCheckTicks(picture));
	}
	writer.close();
	expect(await wrongPictures(await openLibraryClip(path))).toBe(0);
});

/** A back end that gives the times in another order than the pictures, as from packets in the order of decoding. */
function mixedUp(source: ClipSource): ClipSource {
	return {
		...source,
		async *frames(): AsyncGenerator<ClipFrame> {
			const kept: ClipFrame[] = [];
			for await (const frame of source.frames())
				kept.push({ ...frame, luma: { ...frame.luma, data: frame.luma.data.slice() } });
			for (const [i, frame] of kept.entries())
				yield { ...frame, ticks: kept[i % 4 === 1 ? i + 1 : i % 4 === 2 ? i - 1 : i]!.ticks };
		},
	};
}

test('a back end whose times are in the order of decoding is refused by name', async () => {
	const open = async (path: string) => mixedUp(await openLibraryClip(path));
	await expect(checkTimesBelong(open, 'a mixed-up back end')).rejects.toMatchObject({
		code: 'selfCheckFailed',
		message: expect.stringContaining('12 of 24'),
	});
});

test('a back end that loses the last pictures it holds is refused too', async () => {
	const open = async (path: string): Promise<ClipSource> => {
		const source = await openLibraryClip(path);
		return {
			...source,
			async *frames() {
				let count = 0;
				for await (const frame of source.frames()) if (count++ < SELF_CHECK_PICTURES - 3) yield frame;
			},
		};
	};
	await expect(checkTimesBelong(open, 'a forgetful back end')).rejects.toMatchObject({
		code: 'selfCheckFailed',
	});
});
