/** The door to clips: picks the back end, after the file has been looked at and the back end has shown that it can be trusted. */
import { OutsideFailure } from '../../failure.ts';
import type { ClipSource } from '../../imaging/clipFrame.ts';
import { checkClipFile } from './clipFailures.ts';
import { openLibraryClip } from './clipLibrary.ts';
import { checkTimesBelong } from './clipSelfCheck.ts';
import { openToolClip } from './clipTool.ts';
import type { LoadCodecLibrary } from './codecLibrary.ts';

/** `auto`: the codec package, and ffmpeg on the PATH where that is missing or does not know the codec. */
export const CLIP_DECODERS = ['auto', 'library', 'ffmpeg'] as const;
export type ClipDecoder = (typeof CLIP_DECODERS)[number];

type OpenOptions = { readonly decoder?: ClipDecoder; readonly load?: LoadCodecLibrary };
type Open = (path: string) => Promise<ClipSource>;

/**
 * Opens a clip. Throws `OutsideFailure`: `clipMissing`, `clipEmpty`, `clipNotClosed`, `clipNotVideo`, `clipIsStill`, `clipNoPicture`,
 * `codecNotHere`, `decoderMissing`, `selfCheckFailed`.
 */
export async function openClip(
	path: string,
	{ decoder = 'auto', load }: OpenOptions = {},
): Promise<ClipSource> {
	await checkClipFile(path);
	const byLibrary: Open = (file) => openLibraryClip(file, load);
	const open = decoder === 'ffmpeg' ? openToolClip : byLibrary;
	try {
		return await openChecked(open, path);
	} catch (failure) {
		const elsewhere =
			failure instanceof OutsideFailure && ['decoderMissing', 'codecNotHere'].includes(failure.code);
		if (decoder !== 'auto' || !elsewhere) throw failure;
		return await openChecked(openToolClip, path).catch((second: unknown) => {
			const noTool = second instanceof OutsideFailure && second.code === 'decoderMissing';
			throw noTool && failure.code === 'codecNotHere' ? failure : second;
		});
	}
}

async function openChecked(open: Open, path: string): Promise<ClipSource> {
	const source = await open(path);
	try {
		await checkTimesBelong(open, source.readBy);
		return source;
	} catch (failure) {
		source.close();
		throw failure;
	}
}
