import { expect, test } from 'vitest';
import { lumaOf } from '../../src/imaging/planes.ts';
import { openH264Decoder } from '../../src/media/node/h264Decoder.ts';
import { h264CodecString, openH264Encoder } from '../../src/media/node/h264Encoder.ts';
import type { CardSpec } from '../../src/pattern/card.ts';
import { cardGeometry } from '../../src/pattern/geometry.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { readFrameCode } from '../../src/reading/frameCode.ts';

const card: CardSpec = { layout: 'link', size: '1280x720', seed: 3, difficulty: 'hard' };
const settings = { widthPx: 1280, heightPx: 720, rateHz: 30, bitrateKbps: 8000, keyEveryFrames: 12 };
const missing = () => Promise.reject(new Error('no such package'));

test('every frame of the hard card comes out of its own call with its own number in its picture', async () => {
	const painter = createCardPainter(card);
	const encoder = await openH264Encoder(settings);
	const decoder = await openH264Decoder();
	const keys: number[] = [];
	const read: unknown[] = [];
	for (let frameNumber = 0; frameNumber < 40; frameNumber++) {
		const { key, bytes } = encoder.encode(painter.paintPlanes(frameNumber), frameNumber === 17);
		if (key) keys.push(frameNumber);
		const decoded = decoder.decode(bytes, 5000 + frameNumber);
		if (decoded === null) throw new Error(`frame ${frameNumber} gave no picture`);
		expect(decoded.frameNumber).toBe(5000 + frameNumber);
		read.push(readFrameCode(lumaOf(decoded.planes), cardGeometry(card)));
	}
	encoder.close();
	decoder.close();
	expect(read).toEqual(Array.from({ length: 40 }, (_, frameNumber) => ({ kind: 'read', frameNumber })));
	// The interval counts from the picture that was asked to be a key.
	expect(keys).toEqual([0, 12, 17, 29]);
});

test('each key picture carries SPS and PPS, and its SPS names the codec', async () => {
	const painter = createCardPainter(card);
	const encoder = await openH264Encoder({ ...settings, keyEveryFrames: 1 });
	for (let frameNumber = 0; frameNumber < 3; frameNumber++) {
		const { key, bytes } = encoder.encode(painter.paintPlanes(frameNumber));
		expect(key).toBe(true);
		expect(unitTypes(bytes)).toEqual(expect.arrayContaining([7, 8, 5]));
		expect(h264CodecString(bytes)).toMatch(/^avc1\.42C0[0-9A-F]{2}$/);
	}
	encoder.close();
	expect(h264CodecString(new Uint8Array([0, 0, 1, 5, 1, 2, 3, 4]))).toBeNull();
});

test('bytes that are no picture give none, and the decoder goes on', async () => {
	const encoder = await openH264Encoder(settings);
	const decoder = await openH264Decoder();
	expect(decoder.decode(new Uint8Array([0, 0, 0, 1, 0x65, 9, 9, 9]), 1)).toBeNull();
	const { bytes } = encoder.encode(createCardPainter(card).paintPlanes(7));
	expect(decoder.decode(bytes, 7)?.planes.widthPx).toBe(1280);
	encoder.close();
	decoder.close();
});

test('without the codec package, encoder and decoder say what is missing and how to get it', async () => {
	await expect(openH264Encoder({ ...settings, load: missing })).rejects.toMatchObject({
		name: 'OutsideFailure',
		code: 'encoderMissing',
		advice: expect.stringContaining('npm install'),
	});
	await expect(openH264Decoder(missing)).rejects.toMatchObject({ code: 'decoderMissing' });
});

test('a key interval of no pictures is refused', async () => {
	await expect(openH264Encoder({ ...settings, keyEveryFrames: 0 })).rejects.toThrow(RangeError);
});

function unitTypes(annexB: Uint8Array): number[] {
	const types: number[] = [];
	for (let i = 0; i + 3 < annexB.length; i++)
		if (annexB[i] === 0 && annexB[i + 1] === 0 && annexB[i + 2] === 1) types.push(annexB[i + 3]! & 31);
	return types;
}
