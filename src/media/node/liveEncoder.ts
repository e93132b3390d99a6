/** The encoders of the picture socket, by one form: one picture in, its packet out, and what a page needs to decode it. */
import { OutsideFailure } from '../../failure.ts';
import type { Planes } from '../../imaging/planes.ts';
import { type H264EncoderOptions, h264CodecString, openH264Encoder } from './h264Encoder.ts';
import { openJpegEncoder } from './jpegEncoder.ts';

export const LIVE_FORMATS = ['h264', 'jpeg'] as const;
export type LiveFormat = (typeof LIVE_FORMATS)[number];

export type LiveEncoder = {
	encode(planes: Planes, asKey?: boolean): { readonly key: boolean; readonly bytes: Uint8Array };
	/** What the page is told, from a key picture; null where it does not say. */
	codecOf(bytes: Uint8Array): string | null;
};

/** Throws `OutsideFailure` `encoderMissing` or `encoderFailed`. */
export async function openLiveEncoder(format: LiveFormat, options: H264EncoderOptions): Promise<LiveEncoder> {
	if (format === 'jpeg') {
		const encoder = await openJpegEncoder(options);
		return { encode: (planes) => encoder.encode(planes), codecOf: () => 'jpeg' };
	}
	const encoder = await openH264Encoder(options);
	return { encode: (planes, asKey) => encoder.encode(planes, asKey), codecOf: h264CodecString };
}

/** The codec of the pictures that an encoder made while it was tried. */
export function namedCodec(codec: string | null): string {
	if (codec !== null) return codec;
	throw new OutsideFailure(
		'encoderFailed',
		'The encoder made no picture that says what it is.',
		'Install the optional packages again.',
	);
}
