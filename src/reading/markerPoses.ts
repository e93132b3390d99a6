/**
 * Which quads are markers, and how they lie: a black frame on a white rim, one light corner of four, and still cells whose check holds.
 * The corner tells the turn; whether the picture is a mirror image, the label tells (read both ways, its check holds one way).
 * A label that holds both ways leaves both open for the reader of the clip to try; one that holds neither way is no marker: a dark square
 * with a light rim and a light corner is not rare enough.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import { readLabel } from '../pattern/markerCode.ts';
import { MODULES, RIM_MODULES } from '../pattern/markerFace.ts';
import { middleOf, sideOf } from './markerFinder.ts';
import { checkFace, createMarkerSampler, type FaceSeen, markerMap } from './markerSampling.ts';
import type { FoundMarker, MarkerPose, MarkerQuad } from './opticalTypes.ts';

/** Share of the places on rim and frame that must be on their side of half way. */
const LEAST_RING_RATIO = 0.92;
/** Codes between black and white; less cannot be told from a shadow. */
const LEAST_CONTRAST = 14;

/** The marker in this quad, both ways round where its label does not tell; none when it is no marker. */
export function posesOf(luma: LumaPlane, quad: MarkerQuad): FoundMarker[] {
	const found = [false, true].flatMap((mirrored) => {
		const pose = uprightPose(luma, quad, mirrored);
		return pose === null ? [] : [pose];
	});
	const labelled = found.filter(({ label }) => label !== null);
	return labelled.length === 1 ? labelled : labelled.map((marker) => ({ ...marker, label: null }));
}

function uprightPose(luma: LumaPlane, quad: MarkerQuad, mirrored: boolean): FoundMarker | null {
	const lying: MarkerPose = { quad, firstCorner: 0, mirrored };
	const face = checkFace(lying, luma);
	if (face === null || !isFramed(face) || face.lightCorner < 0) return null;
	const pose: MarkerPose = { quad, firstCorner: cornerAt(face.lightCorner, mirrored), mirrored };
	const sampler = createMarkerSampler(pose, luma);
	if (sampler === null) return null;
	return {
		pose,
		label: readLabel(sampler.readLabel(luma)),
		sidePx: sideOf(quad),
		heightRatio: middleOf(quad).yPx / luma.heightPx,
		turnedDeg: turnOf(pose),
	};
}

/** Whether a quad has a marker's rim and frame; for following a marker that is known already. */
export function looksFramed(luma: LumaPlane, quad: MarkerQuad): boolean {
	const face = checkFace({ quad, firstCorner: 0, mirrored: false }, luma);
	return face !== null && isFramed(face);
}

function isFramed({ ringRatio, contrast }: FaceSeen): boolean {
	return ringRatio >= LEAST_RING_RATIO && contrast >= LEAST_CONTRAST;
}

function cornerAt(place: number, mirrored: boolean): MarkerPose['firstCorner'] {
	const corner = (mirrored ? 4 - place : place) & 3;
	return corner === 0 ? 0 : corner === 1 ? 1 : corner === 2 ? 2 : 3;
}

/** Clockwise angle from the picture's upward direction to the marker's. */
function turnOf(pose: MarkerPose): number {
	const map = markerMap(pose);
	const bottom = map(MODULES / 2, MODULES - RIM_MODULES);
	const top = map(MODULES / 2, RIM_MODULES);
	return (Math.atan2(top.xPx - bottom.xPx, bottom.yPx - top.yPx) * 180) / Math.PI;
}
