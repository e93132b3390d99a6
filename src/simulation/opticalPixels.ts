/**
 * An invented optical clip as pictures: what the filming phone's luma would hold, frame by frame. The light of each marker cell is
 * that of `opticalSignal.ts` (screens, exposures, link, all mixed exactly); here it is laid on a face in perspective, turned, mirrored
 * and bent by the scope's lens, on a textured room, then blurred, shaded and made noisy. Seeded; any frame may be asked for.
 *
 * Left out: colour, the phone's own compression (encode the planes to have it), rolling shutter within one marker.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import { PAIRS } from '../pattern/markerCode.ts';
import { MODULES, markerModules, pairPlaces } from '../pattern/markerFace.ts';
import { createRandom, type Random } from '../statistics/random.ts';
import { opticalSignal } from './opticalSignal.ts';
import type { OpticalSpec } from './opticalSpec.ts';

/** A marker as it lies in the phone's picture. */
type FacePlace = {
	readonly middleXPx: number;
	readonly middleYPx: number;
	/** Whole marker, rim included, at its middle. */
	readonly sidePx: number;
	/** Clockwise. */
	readonly turnedDeg: number;
	/** How much nearer its right edge is than its left: 0 flat, 0.5 strongly tilted. */
	readonly tilt: number;
	readonly mirrored: boolean;
	/** Barrel of the scope's lens: 0 none, 0.4 strong. */
	readonly barrel: number;
	/** Luma codes of its black and its white. */
	readonly black: number;
	readonly white: number;
};

export type OpticalView = {
	readonly widthPx: number;
	readonly heightPx: number;
	readonly laptop: FacePlace;
	readonly tablet: FacePlace;
	/** Standard deviation of the blur. */
	readonly blurPx: number;
	/** Of the noise, in codes. */
	readonly noise: number;
	/** Share of light lost in the picture's corners. */
	readonly vignette: number;
	/** Amplitude of the hand's shake; 0: a stand. */
	readonly shakePx: number;
};

export type OpticalCamera = {
	readonly frames: number;
	readonly fileMs: Float64Array;
	/** True middle of exposure of each frame at the laptop's row. */
	readonly trueMs: Float64Array;
	/** A new plane each time. */
	frame(index: number): LumaPlane;
};

const usualFace = { turnedDeg: 0, tilt: 0, mirrored: false, barrel: 0, black: 28, white: 214 };
export const usualOpticalView: OpticalView = {
	widthPx: 480,
	heightPx: 270,
	laptop: { ...usualFace, middleXPx: 120, middleYPx: 135, sidePx: 120 },
	tablet: { ...usualFace, middleXPx: 350, middleYPx: 135, sidePx: 110, barrel: 0.2 },
	blurPx: 0.8,
	noise: 3,
	vignette: 0.2,
	shakePx: 0,
};

const TONE = 2.2;
/** Half a module of screen shows about the rim. */
const SCREEN_REACH = 0.56;
const SCREEN_CODE = 66;
const LAPTOP_SESSION = 5;

export function createOpticalCamera(spec: OpticalSpec, view: OpticalView): OpticalCamera {
	const signal = opticalSignal({ ...spec, vectorNoise: 0, vectorGain: 1 });
	const room = texturedRoom(view, spec.seed);
	const shake = shakeOf(spec);
	return {
		frames: signal.fileMs.length,
		fileMs: signal.fileMs,
		trueMs: signal.trueMs,
		frame(index) {
			const light = Float32Array.from(room);
			const [dx, dy] = shake(index * spec.phone.periodMs, view.shakePx);
			for (const [place, vectors, copy] of [
				[view.laptop, signal.laptop, 'free'],
				[view.tablet, signal.tablet, 'scope'],
			] as const) {
				const label = { copy, rateHz: spec.laptop.labelHz, session: LAPTOP_SESSION };
				const modules = Float32Array.from(markerModules(0, label));
				setPairs(modules, vectors.subarray(index * PAIRS, (index + 1) * PAIRS));
				drawFace(light, view, { place, modules, dx, dy });
			}
			blur(light, view);
			return toPlane(light, view, createRandom(spec.seed * 100_003 + index));
		},
	};
}

function setPairs(modules: Float32Array, vector: Float32Array): void {
	for (const [pair, [first, second]] of pairPlaces.entries()) {
		modules[first.row * MODULES + first.column] = (1 + vector[pair]!) / 2;
		modules[second.row * MODULES + second.column] = (1 - vector[pair]!) / 2;
	}
}

type Face = {
	readonly place: FacePlace;
	/** Share of white light of each module. */
	readonly modules: Float32Array;
	readonly dx: number;
	readonly dy: number;
};

/** Two by two points a pixel. */
const POINTS = [-0.25, 0.25];

function drawFace(
	light: Float32Array,
	{ widthPx, heightPx }: OpticalView,
	{ place, modules, dx, dy }: Face,
): void {
	const reach = place.sidePx * (0.95 + place.tilt);
	const [middleX, middleY] = [place.middleXPx + dx, place.middleYPx + dy];
	const [black, white, ground] = [place.black, place.white, SCREEN_CODE].map((code) => (code / 255) ** TONE);
	const toFace = faceMap(place);
	for (let y = Math.max(0, Math.floor(middleY - reach)); y < Math.min(heightPx, middleY + reach); y++)
		for (let x = Math.max(0, Math.floor(middleX - reach)); x < Math.min(widthPx, middleX + reach); x++) {
			let sum = 0;
			let inside = 0;
			for (const py of POINTS)
				for (const px of POINTS) {
					const [u, v] = toFace(x + px - middleX, y + py - middleY);
					if (Math.abs(u) > SCREEN_REACH || Math.abs(v) > SCREEN_REACH) continue;
					inside++;
					if (Math.abs(u) >= 0.5 || Math.abs(v) >= 0.5) sum += ground!;
					else {
						const module = Math.floor((v + 0.5) * MODULES) * MODULES + Math.floor((u + 0.5) * MODULES);
						sum += black! + (white! - black!) * modules[module]!;
					}
				}
			const at = y * widthPx + x;
			light[at] = (sum + (4 - inside) * light[at]!) / 4;
		}
}

/** From an offset in the picture to a place on the face, -0.5 to 0.5 across it. */
function faceMap({ sidePx, turnedDeg, tilt, mirrored, barrel }: FacePlace) {
	const angle = (turnedDeg * Math.PI) / 180;
	const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
	return (x: number, y: number): readonly [number, number] => {
		const across = (x * cos + y * sin) / sidePx;
		const down = (-x * sin + y * cos) / sidePx;
		const depth = 1 - tilt * across;
		// Behind the eye: far outside the face.
		if (depth < 0.05) return [9, 9];
		const [s, t] = [(across * (1 - tilt * tilt * 0.25)) / depth, down / depth];
		const bend = 1 + barrel * (s * s + t * t);
		return [mirrored ? -s * bend : s * bend, t * bend];
	};
}

function texturedRoom({ widthPx, heightPx }: OpticalView, seed: number): Float32Array {
	const random = createRandom(seed + 29);
	const room = new Float32Array(widthPx * heightPx).fill(0.05);
	for (let patch = 0; patch < 60; patch++) {
		const [x, y] = [random.integer(widthPx), random.integer(heightPx)];
		const [width, height] = [4 + random.integer(60), 4 + random.integer(60)];
		const level = 0.3 * random.next() ** 2;
		for (let row = y; row < Math.min(heightPx, y + height); row++)
			room.fill(level, row * widthPx + x, row * widthPx + Math.min(widthPx, x + width));
	}
	return room;
}

/** A hand: two slow swings and a tremble, from the seed. */
function shakeOf({ seed }: OpticalSpec) {
	const random = createRandom(seed + 31);
	const phases = Array.from({ length: 6 }, () => 2 * Math.PI * random.next());
	return (atMs: number, amplitudePx: number): readonly [number, number] => {
		const swing = (k: number): number =>
			Math.sin(atMs / 700 + phases[k]!) +
			0.5 * Math.sin(atMs / 230 + phases[k + 1]!) +
			0.1 * Math.sin(atMs / 35 + phases[k + 2]!);
		return [amplitudePx * swing(0), amplitudePx * swing(3)];
	};
}

function blur(light: Float32Array, { widthPx, heightPx, blurPx }: OpticalView): void {
	if (blurPx <= 0) return;
	const reach = Math.ceil(3 * blurPx);
	const kernel = Float64Array.from({ length: 2 * reach + 1 }, (_, i) =>
		Math.exp(-((i - reach) ** 2) / (2 * blurPx ** 2)),
	);
	const total = kernel.reduce((sum, value) => sum + value, 0);
	const between = new Float32Array(light.length);
	blurLines(light, between, {
		kernel,
		total,
		reach,
		lines: heightPx,
		length: widthPx,
		step: 1,
		lineStep: widthPx,
	});
	blurLines(between, light, {
		kernel,
		total,
		reach,
		lines: widthPx,
		length: heightPx,
		step: widthPx,
		lineStep: 1,
	});
}

type Lines = {
	readonly kernel: Float64Array;
	readonly total: number;
	readonly reach: number;
	readonly lines: number;
	readonly length: number;
	readonly step: number;
	readonly lineStep: number;
};

function blurLines(from: Float32Array, to: Float32Array, { kernel, total, reach, ...grid }: Lines): void {
	for (let line = 0; line < grid.lines; line++)
		for (let i = 0; i < grid.length; i++) {
			let sum = 0;
			for (let k = -reach; k <= reach; k++) {
				const at = Math.min(grid.length - 1, Math.max(0, i + k));
				sum += kernel[k + reach]! * from[line * grid.lineStep + at * grid.step]!;
			}
			to[line * grid.lineStep + i * grid.step] = sum / total;
		}
}

function toPlane(
	light: Float32Array,
	{ widthPx, heightPx, noise, vignette }: OpticalView,
	random: Random,
): LumaPlane {
	const data = new Uint8Array(widthPx * heightPx);
	const farthest = (widthPx / 2) ** 2 + (heightPx / 2) ** 2;
	for (let y = 0; y < heightPx; y++)
		for (let x = 0; x < widthPx; x++) {
			const at = y * widthPx + x;
			const off = ((x - widthPx / 2) ** 2 + (y - heightPx / 2) ** 2) / farthest;
			const code = 255 * (light[at]! * (1 - vignette * off)) ** (1 / TONE) + noise * random.normal();
			data[at] = Math.max(0, Math.min(255, Math.round(code)));
		}
	return { data, stride: widthPx, widthPx, heightPx };
}
