/**
 * Films of an invented kit, as signals without pixels: what the reader of a real clip would hand over of them, and the kit that `rehearse` judges by
 * them. Everything from the vectors on is the real rig's; finding, sampling and codecs are not in it (bench/opticalPixels.ts holds those against truth).
 */
import { measureClip } from '../../reading/measureClip.ts';
import type { ClipReading, FoundMarker, Point } from '../../reading/opticalTypes.ts';
import { type OpticalSignal, opticalSignal } from '../../simulation/opticalSignal.ts';
import { type OpticalSpec, usualOpticalSpec } from '../../simulation/opticalSpec.ts';
import type { OpticalClip } from './opticalClip.ts';

export type InventedFilm = { readonly name: string; readonly spec: OpticalSpec };

const CORNER: Point = { xPx: 0, yPx: 0 };
const SESSION = 5;

/** Laptop's and tablet's marker, each frame read. */
export function inventedReading(spec: OpticalSpec, signal: OpticalSignal = opticalSignal(spec)): ClipReading {
	const read = new Uint8Array(signal.fileMs.length).fill(1);
	const label = (copy: 'scope' | 'free') => ({ copy, rateHz: spec.laptop.labelHz, session: SESSION });
	return {
		fileMs: signal.fileMs,
		filmed: 'tripod',
		tracks: [
			{ marker: { ...marker(90), label: label('scope') }, vectors: signal.tablet, read },
			{ marker: { ...marker(100), label: label('free') }, vectors: signal.laptop, read },
		],
	};
}

/** Throws `RangeError` for an invented film that cannot be measured: an error of whoever invented it. */
export function filmInvented({ name, spec }: InventedFilm): OpticalClip {
	const measured = measureClip(inventedReading(spec));
	if (measured.kind !== 'measured') throw new RangeError(`${name}: ${measured.explanation}`);
	return { kind: 'clip', name, transfer: 'usual', measured, notes: [] };
}

/** A whole session of a closed kit, its app started anew before each film: one phase and one draw of delay each. */
export function inventedSession(seed: number): readonly InventedFilm[] {
	const films = [
		...[1, 2, 3].map((take) => ({ name: `fast ${take}`, phoneHz: 120.06, seconds: 22, take })),
		{ name: 'long', phoneHz: 29.99, seconds: 312, take: 4 },
	];
	return films.map(({ name, phoneHz, seconds, take }) => ({
		name,
		spec: {
			...usualOpticalSpec,
			seed: seed + take,
			durationMs: 1000 * seconds,
			scope: { ...usualOpticalSpec.scope, phaseMs: 7 * take },
			link: { ...usualOpticalSpec.link, delayMs: 104 + 3 * take, jitterMs: 8 },
			tablet: { ...usualOpticalSpec.tablet, phaseMs: 4 * take },
			phone: {
				...usualOpticalSpec.phone,
				...{ periodMs: 1000 / phoneHz, exposureMs: phoneHz > 100 ? 4 : 10, phaseMs: 3 * take },
			},
		},
	}));
}

function marker(sidePx: number): FoundMarker {
	const four = [CORNER, CORNER, CORNER, CORNER] as const;
	return {
		pose: { quad: { corners: four, bulges: four }, firstCorner: 0, mirrored: false },
		...{ label: null, sidePx, heightRatio: 0.5, turnedDeg: 0 },
	};
}
