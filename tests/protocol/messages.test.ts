import fc from 'fast-check';
import { expect, test } from 'vitest';
import { MAX_CONTROL_CHARACTERS, readFromViewer, readToViewer } from '../../src/protocol/control.ts';
import { packPicture, unpackPicture } from '../../src/protocol/pictureSocket.ts';

test('a picture packed and unpacked is the same picture', () => {
	fc.assert(
		fc.property(
			fc.integer({ min: 0, max: 0xffffffff }),
			fc.boolean(),
			fc.uint8Array({ minLength: 1, maxLength: 64 }),
			(frameNumber, key, bytes) => {
				expect(unpackPicture(packPicture({ frameNumber, key, bytes }))).toEqual({ frameNumber, key, bytes });
			},
		),
	);
});

test('a frame number beyond 32 bits cannot be packed', () => {
	for (const frameNumber of [-1, 1.5, 2 ** 32, Number.NaN])
		expect(() => packPicture({ frameNumber, key: false, bytes: new Uint8Array(1) })).toThrow(RangeError);
});

test('bytes of another kind, and a header without a picture, are not pictures', () => {
	expect(unpackPicture(new Uint8Array(8))).toBeNull();
	expect(unpackPicture(new Uint8Array([2, 0, 0, 0, 0, 0, 0, 1, 9]))).toBeNull();
	expect(unpackPicture(new Uint8Array(0))).toBeNull();
});

test('a report of seen frames is read', () => {
	const message = { type: 'seen', rows: [[4, 4, 1.5, 2.5, null]] };
	expect(readFromViewer(JSON.stringify(message))).toEqual({ kind: 'message', message });
});

test.each([
	['not JSON', '{"type":'],
	['no known type', '{"type":"steer"}'],
	['an instant that is no number', '{"type":"seen","rows":[[1,1,"now",2,null]]}'],
	['an instant beyond any number', '{"type":"pong","id":1,"t2":1e999,"t3":1}'],
	['a negative frame number', '{"type":"seen","rows":[[-1,null,1,2,null]]}'],
	['a row too short', '{"type":"seen","rows":[[1,1,2]]}'],
	[
		'more rows than one report may hold',
		`{"type":"seen","rows":[${Array(2001).fill('[1,1,1,1,null]').join()}]}`,
	],
	['another protocol', '{"type":"hello","protocol":2}'],
	['a prototype for a message', '{"__proto__":{"type":"done"}}'],
	['null', 'null'],
])('a viewer that says %s is refused with a reason', (_, text) => {
	expect(readFromViewer(text)).toEqual({ kind: 'refused', reason: expect.stringMatching(/\S/) });
});

test('a text beyond the bound is refused before it is read', () => {
	const text = `{"type":"done","filler":"${'x'.repeat(MAX_CONTROL_CHARACTERS)}"}`;
	expect(readFromViewer(text)).toMatchObject({ reason: expect.stringContaining('longer than') });
});

test('the bench can say why it refuses', () => {
	const message = { type: 'refused', reason: 'another viewer steers this run' };
	expect(readToViewer(JSON.stringify(message))).toEqual({ kind: 'message', message });
	expect(readToViewer('{"type":"hello"}')).toMatchObject({ kind: 'refused' });
});
