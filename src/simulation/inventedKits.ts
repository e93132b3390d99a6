/**
 * Three kits that do not exist, with everything stated that a measurement could find: what `rehearse` judges.
 *
 * The scene: Hazelmarrow, an invented yard, has borrowed the three models of the invented maker Odderby for a morning.
 * `truth` is the answer that the stated figures deserve; it is printed beside the verdict and never read by it.
 */
import type { ProfileName } from '../observations/records.ts';
import { cardPatches } from '../pattern/patches.ts';
import { type AirSpec, type LossChain, stillAir } from './airSpec.ts';
import type { ColourModel, LikenessModel, VirtualLinkSpec } from './virtualLinkSpec.ts';

export type InventedKit = {
	readonly key: string;
	readonly name: string;
	/** Who they are, in two sentences. */
	readonly story: string;
	readonly addedDelayMs: number;
	readonly air: AirSpec;
	/** Whole pictures that the kit's own sender loses. */
	readonly pictureLoss: LossChain | null;
	readonly colour: ColourModel;
	readonly likeness: LikenessModel;
	readonly truth: { readonly steer: 'yes' | 'no'; readonly record: 'yes' | 'no'; readonly because: string };
};

const steadyAir: AirSpec = { ...stillAir, delayMs: 6, spread: { kind: 'gamma', shape: 2, scaleMs: 2 } };
const sharp: LikenessModel = { medianSquaredError: 6, sigma: 0.2, meanSsim: 0.985, ssimSd: 0.002 };

export const inventedKits: readonly InventedKit[] = [
	{
		key: 'lark',
		name: 'Odderby Lark',
		story: 'A light scope with a radio of its own and little in between. The yard vet would steer by it.',
		addedDelayMs: 70,
		air: { ...steadyAir, name: "the Lark's own radio" },
		pictureLoss: { p: 0.001, r: 1, k: 1, h: 0 },
		colour: { matrix: null, gain: [1.01, 1, 0.99], offset: [1, 0.5, 0], noiseSd: 0.4 },
		likeness: sharp,
		truth: {
			steer: 'yes',
			record: 'yes',
			because: 'about a tenth of a second late, evenly, and hardly a picture lost',
		},
	},
	{
		key: 'owl',
		name: 'Odderby Owl',
		story:
			'It polishes every picture before it lets it go. Nothing is missing and the colours are true, but all of it is past.',
		addedDelayMs: 340,
		air: { ...steadyAir, name: "the Owl's own radio" },
		pictureLoss: null,
		colour: { matrix: null, gain: [1, 1, 1], offset: [0.5, 0.5, 0.5], noiseSd: 0.3 },
		likeness: { ...sharp, medianSquaredError: 3, meanSsim: 0.992 },
		truth: { steer: 'no', record: 'yes', because: 'over a third of a second late, yet whole and true' },
	},
	{
		key: 'moth',
		name: 'Odderby Moth',
		story:
			'Quick when it speaks, but its sender chokes and skips a handful of pictures about once a second. It was dropped once.',
		addedDelayMs: 60,
		air: { ...steadyAir, name: "the Moth's own radio" },
		pictureLoss: { p: 0.045, r: 0.25, k: 1, h: 0 },
		colour: { matrix: null, gain: [1, 1, 1], offset: [0, 0, 0], noiseSd: 0.4 },
		likeness: sharp,
		truth: { steer: 'no', record: 'no', because: 'about 15 in 100 pictures lost, four in a row on average' },
	},
];

/**
 * Air and whole-picture loss for the kit's short leg with real codec and relay: scope and app are in the relay's delay,
 * and the relay is a stream, as TCP is.
 */
export function realLegOf(kit: InventedKit): {
	readonly air: AirSpec;
	readonly pictureLoss: LossChain | null;
} {
	const name = `${kit.air.name}, scope and app within`;
	return {
		air: { ...kit.air, name, delayMs: kit.air.delayMs + kit.addedDelayMs, carriage: 'stream' },
		pictureLoss: kit.pictureLoss,
	};
}

export type KitRunOptions = {
	readonly profile: ProfileName;
	readonly observedMs: number;
	readonly seed: number;
	readonly runId: string;
	readonly toolVersion: string;
	/** A label for people, ISO 8601. */
	readonly startedAt: string;
};

/** The kit's full-length run in virtual time: 720p30 on a 60 Hz tablet, seen at the refresh. */
export function kitRunSpec(kit: InventedKit, options: KitRunOptions): VirtualLinkSpec {
	const card = { layout: 'link', size: '1280x720', seed: options.seed, difficulty: 'easy' } as const;
	return {
		...options,
		subject: { kind: 'kit', name: kit.name, invented: true },
		warmUpMs: 5000,
		source: { rateHz: 30, widthPx: 1280, heightPx: 720, latenessMeanMs: 0.3 },
		addedDelayMs: kit.addedDelayMs,
		encode: { kind: 'normal', meanMs: 6, sdMs: 1 },
		pictureBytes: { mean: 16_000, sd: 3000 },
		pictureLoss: kit.pictureLoss,
		air: kit.air,
		decode: { kind: 'normal', meanMs: 5, sdMs: 1 },
		display: { periodMs: 1000 / 59.94, phaseMs: 3.1 },
		freezes: null,
		colour: kit.colour,
		likeness: kit.likeness,
		patches: cardPatches(card).map(({ name, role, rgb }) => ({ name, role, rgb: [rgb[0], rgb[1], rgb[2]] })),
		sampleEveryMs: 2000,
		lostAfterMs: 30_000,
		viewerClock: null,
	};
}
