import { existsSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { BT709_LIMITED } from '../../src/colour/yCbCr.ts';
import { measureBlockiness } from '../../src/imaging/blockiness.ts';
import { blockSsim } from '../../src/imaging/blockSsim.ts';
import { gaussianSsim } from '../../src/imaging/gaussianSsim.ts';
import { lumaOf } from '../../src/imaging/planes.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { decodeJpeg, encodeJpeg } from '../../src/media/node/jpeg.ts';

/** A fundus photograph, the open picture nearest to tissue: CC0, in Debian's python3-skimage. Never fetched, only used where installed. */
const FUNDUS = '/usr/lib/python3/dist-packages/skimage/data/retina.jpg';
const isThere = existsSync(FUNDUS);
const title = isThere ? '' : ' (NOT RUN: install python3-skimage for its retina.jpg)';

test.skipIf(!isThere)(
	`a fundus photograph through JPEG of falling quality is less and less like itself${title}`,
	() => {
		const whole = decodeJpeg(readFileSync(FUNDUS));
		const luma = (quality: number) =>
			lumaOf(rasterToPlanes(decodeJpeg(encodeJpeg(whole, quality)), BT709_LIMITED));
		const before = lumaOf(rasterToPlanes(whole, BT709_LIMITED));
		const worn = [90, 60, 30, 10].map(luma);
		for (const similarity of [blockSsim, gaussianSsim]) {
			const scores = worn.map((plane) => similarity(before, plane));
			expect(scores).toEqual(scores.toSorted((a, b) => b - a));
		}
		expect(measureBlockiness(worn[3]!).ratio).toBeGreaterThan(measureBlockiness(worn[0]!).ratio);
	},
);
