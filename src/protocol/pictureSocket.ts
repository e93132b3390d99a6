/**
 * The picture socket: binary, bench to viewer only. One encoded picture a message:
 * byte 0 kind (1 picture), byte 1 flags (bit 0 key picture), bytes 2-3 zero, bytes 4-7 frame number (big endian),
 * then the codec's bytes (H.264 Annex B). No time travels in it: the bench knows when each number was shown.
 */
const HEADER_BYTES = 8;
const PICTURE = 1;
const KEY = 1;

export type EncodedPicture = {
	readonly frameNumber: number;
	readonly key: boolean;
	readonly bytes: Uint8Array;
};

/** One message's bytes; throws `RangeError` when the frame number does not fit 32 bits. */
export function packPicture({ frameNumber, key, bytes }: EncodedPicture): Uint8Array {
	if (!Number.isInteger(frameNumber) || frameNumber < 0 || frameNumber > 0xffffffff)
		throw new RangeError(`frame number must fit 32 bits, got ${frameNumber}`);
	const message = new Uint8Array(HEADER_BYTES + bytes.length);
	const view = new DataView(message.buffer);
	view.setUint8(0, PICTURE);
	view.setUint8(1, key ? KEY : 0);
	view.setUint32(4, frameNumber);
	message.set(bytes, HEADER_BYTES);
	return message;
}

/** The picture in a message, or null when it is not one of ours. */
export function unpackPicture(message: Uint8Array): EncodedPicture | null {
	if (message.length <= HEADER_BYTES || message[0] !== PICTURE) return null;
	const view = new DataView(message.buffer, message.byteOffset, message.byteLength);
	return {
		frameNumber: view.getUint32(4),
		key: (view.getUint8(1) & KEY) !== 0,
		bytes: message.subarray(HEADER_BYTES),
	};
}
