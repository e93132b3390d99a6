/**
 * JPEG pictures one after the other, for a page that is given no video decoder. Decoding may overlap; frames come out in the
 * order in which the pictures went in.
 */
import type { DecodedFrame, PictureDecoder } from './pictureDecoder.ts';

/** Pictures in decoding at once; beyond it this browser cannot keep up, and newer ones are passed over. */
const MOST_AT_ONCE = 8;

export function openJpegDecoder(
	onFrame: (decoded: DecodedFrame) => void,
	onTrouble: (detail: string) => void,
): PictureDecoder {
	let inOrder: Promise<void> = Promise.resolve();
	let openCount = 0;
	let closed = false;

	const deliver = async (packetNumber: number, decoding: Promise<ImageBitmap>): Promise<void> => {
		const bitmap = await decoding;
		openCount--;
		if (!closed) onFrame({ packetNumber, frame: new VideoFrame(bitmap, { timestamp: packetNumber * 1000 }) });
		bitmap.close();
	};
	return {
		decode({ frameNumber, bytes }) {
			if (openCount >= MOST_AT_ONCE) {
				onTrouble('more pictures came than this browser can decode');
				return;
			}
			openCount++;
			const blob = new Blob([new Uint8Array(bytes)], { type: 'image/jpeg' });
			const decoding = createImageBitmap(blob, { colorSpaceConversion: 'none' });
			inOrder = inOrder
				.then(() => deliver(frameNumber, decoding))
				.catch((error: unknown) => {
					openCount--;
					onTrouble(String(error));
				});
		},
		close() {
			closed = true;
		},
	};
}
