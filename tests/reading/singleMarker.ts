/** Single pictures of a marker with known tick, for what a reader that knows nothing beforehand makes of them. */
import { findMarkers } from '../../src/reading/markerFinder.ts';
import { posesOf } from '../../src/reading/markerPoses.ts';
import { createMarkerSampler } from '../../src/reading/markerSampling.ts';
import { bestWord, fitTick } from '../../src/reading/tickFit.ts';
import {
	createOpticalCamera,
	type OpticalView,
	usualOpticalView,
} from '../../src/simulation/opticalPixels.ts';
import { usualOpticalSpec } from '../../src/simulation/opticalSpec.ts';
import { createRandom } from '../../src/statistics/random.ts';

/** A still scene in which the tablet's marker lies as said, and the laptop's far away and plain. */
export function scene(tablet: Partial<OpticalView['tablet']>, over: Partial<OpticalView> = {}, seed = 1) {
	const face = { ...usualOpticalView.tablet, middleXPx: 225, middleYPx: 100, barrel: 0, ...tablet };
	const laptop = { ...usualOpticalView.laptop, middleXPx: 60, middleYPx: 100, sidePx: 80 };
	const view = { ...usualOpticalView, widthPx: 320, heightPx: 200, laptop, tablet: face, ...over };
	return createOpticalCamera({ ...usualOpticalSpec, durationMs: 400, seed }, view);
}

/** Single pictures: how many of `count` are read, and how many wrongly, by a reader that knows nothing beforehand. */
export function decode(tablet: Partial<OpticalView['tablet']>, over: Partial<OpticalView> = {}, count = 6) {
	const random = createRandom(5);
	let read = 0;
	let wrong = 0;
	for (let i = 0; i < count; i++) {
		const turned = { turnedDeg: 360 * random.next() - 180, middleXPx: 224 + random.next(), ...tablet };
		const camera = scene(turned, over, i + 1);
		// Any of the scene's 48 frames in which the tablet has a picture.
		const frame = 20 + (i % 24);
		const luma = camera.frame(frame);
		// What the tablet shows is some 110 ms old: four to twelve ticks before the laptop's.
		const now = usualOpticalSpec.firstTick + (camera.trueMs[frame]! / 1000) * 60;
		const marker = findMarkers(luma)
			.flatMap((quad) => posesOf(luma, quad))
			.find(({ label }) => label?.copy === 'scope');
		if (marker === undefined) continue;
		const vector = new Float32Array(21);
		if (createMarkerSampler(marker.pose, luma)?.readVector(luma, vector, 0) !== true) continue;
		const word = bestWord(vector, 0, { fromTick: 0, count: 4096 });
		const fit = fitTick(vector, 0, { word, gain: 0.95 });
		if (fit.residual > 0.34) continue;
		if (fit.tick > now || fit.tick < now - 16) wrong++;
		else read++;
	}
	return { read, wrong };
}
