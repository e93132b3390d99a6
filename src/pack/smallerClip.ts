/**
 * A clip made small enough to send, by an `ffmpeg` on this computer: x264 at the bitrate that the size allows, sound and all
 * metadata left out. Colour and detail suffer: the cover says "re-encoded". Without the program it is not made, and that is said.
 */
import { execFile } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { OutsideFailure } from '../failure.ts';

const run = promisify(execFile);
/** What the container and an encoder that overshoots may take. */
const SIZE_SHARE = 0.93;
const LEAST_KBPS = 50;

/** Throws `OutsideFailure` `encoderMissing`, `encoderFailed` or `sizeTooSmall`. */
export async function smallerClip(
	bytes: Uint8Array,
	{ megabytes, program = 'ffmpeg' }: { readonly megabytes: number; readonly program?: string },
): Promise<Uint8Array> {
	const folder = await mkdtemp(join(tmpdir(), 'steerworthy-clip-'));
	try {
		const [from, to] = [join(folder, 'from'), join(folder, 'to.mp4')];
		await writeFile(from, bytes);
		const seconds = await secondsOf(from, program);
		const kbps = Math.floor((SIZE_SHARE * megabytes * 8000) / seconds);
		if (kbps < LEAST_KBPS)
			throw new OutsideFailure(
				'sizeTooSmall',
				`${megabytes} MB over ${Math.round(seconds)} s leaves ${kbps} kbit/s: nothing could be seen.`,
				'Choose a larger size, or cut the clip shorter first.',
			);
		const rate = `${kbps}k`;
		const how = ['-c:v', 'libx264', '-preset', 'medium', '-b:v', rate, '-maxrate', rate, '-bufsize', rate];
		const shape = ['-pix_fmt', 'yuv420p', '-an', '-map_metadata', '-1', '-movflags', '+faststart'];
		await call(program, ['-v', 'error', '-i', from, ...how, ...shape, '-y', to]);
		const smaller = await readFile(to);
		if (smaller.length > megabytes * 1e6) throw failed(`it came out larger than ${megabytes} MB`);
		return smaller;
	} finally {
		await rm(folder, { recursive: true });
	}
}

/** The program itself tells the length, on its way to complaining that it was given nothing to make. */
async function secondsOf(path: string, program: string): Promise<number> {
	const { stderr } = await call(program, ['-i', path, '-f', 'null', '-t', '0', '-']);
	const found = /Duration: (\d+):(\d+):(\d+(?:\.\d+)?)/.exec(stderr);
	const [hours, minutes, seconds] = (found?.slice(1) ?? []).map(Number);
	const total = (hours ?? 0) * 3600 + (minutes ?? 0) * 60 + (seconds ?? 0);
	if (!(total > 0)) throw failed('the length of the clip could not be read');
	return total;
}

async function call(program: string, words: readonly string[]): Promise<{ stderr: string }> {
	try {
		return await run(program, words, { maxBuffer: 2 ** 24 });
	} catch (cause) {
		if ((cause as NodeJS.ErrnoException).code === 'ENOENT')
			throw new OutsideFailure(
				'encoderMissing',
				`No ${program} was found on this computer, so no smaller version can be made.`,
				'Leave --smaller out, or install it and try again.',
				{ cause },
			);
		throw failed(
			String((cause as { stderr?: unknown }).stderr ?? cause)
				.trim()
				.split('\n')[0] ?? '',
			cause,
		);
	}
}

function failed(what: string, cause?: unknown): OutsideFailure {
	return new OutsideFailure(
		'encoderFailed',
		`The clip could not be made smaller: ${what}.`,
		'Leave --smaller out, or give a clip that other programs play.',
		{ cause },
	);
}
