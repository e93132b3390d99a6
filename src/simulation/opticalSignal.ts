/**
 * An invented optical clip as soft vectors, without pixels: each screen's light mixed over each exposure, exactly. Twenty seconds
 * take milliseconds, so that thousands of clips can be judged. What pixels add (finding, sampling, codecs) is not in it.
 */
import { PAIRS, tickOf, tickVector } from '../pattern/markerCode.ts';
import { createRandom, type Random } from '../statistics/random.ts';
import { createGlowingScreen, type GlowingScreen } from './glowingScreen.ts';
import { truePictures } from './opticalPictures.ts';
import type { OpticalSpec } from './opticalSpec.ts';

export type OpticalSignal = {
	/** The file's times, stretched. */
	readonly fileMs: Float64Array;
	/** True middle of each frame's exposure at the laptop's row. */
	readonly trueMs: Float64Array;
	/** PAIRS numbers a frame. */
	readonly laptop: Float32Array;
	readonly tablet: Float32Array;
};

const codewords = new Float32Array(4096 * PAIRS);
for (let tick = 0; tick < 4096; tick++) codewords.set(tickVector(tick), tick * PAIRS);

export function opticalSignal(spec: OpticalSpec): OpticalSignal {
	const random = createRandom(spec.seed + 13);
	const laptop = laptopScreen(spec, random);
	const tablet = tabletScreen(spec, laptop);
	const { periodMs, exposureMs, phaseMs, readoutMs, stretch } = spec.phone;
	const count = Math.max(0, Math.floor((spec.durationMs - phaseMs - exposureMs) / periodMs));
	const fileMs = new Float64Array(count);
	const trueMs = new Float64Array(count);
	const vectors = { laptop: new Float32Array(count * PAIRS), tablet: new Float32Array(count * PAIRS) };
	for (let frame = 0; frame < count; frame++) {
		fileMs[frame] = frame * periodMs * stretch;
		const startMs = phaseMs + frame * periodMs;
		const laptopMs = startMs + readoutMs * spec.phone.laptopHeightRatio;
		const tabletMs = startMs + readoutMs * spec.phone.tabletHeightRatio;
		trueMs[frame] = laptopMs + exposureMs / 2;
		see(laptop, laptopMs, { spec, random, into: vectors.laptop, frame });
		see(tablet, tabletMs, { spec, random, into: vectors.tablet, frame });
	}
	return { fileMs, trueMs, ...vectors };
}

/** The laptop's light as soft vectors; a missed refresh leaves the tick before. */
function laptopScreen({ laptop, durationMs, firstTick }: OpticalSpec, random: Random): GlowingScreen {
	const leadTicks = Math.ceil(2500 / laptop.periodMs);
	const count = leadTicks + Math.ceil(durationMs / laptop.periodMs) + 2;
	const changesMs = new Float64Array(count);
	const contents = new Float32Array(count * PAIRS);
	let drawn = 0;
	for (let i = 0; i < count; i++) {
		changesMs[i] = (i - leadTicks) * laptop.periodMs;
		if (i === 0 || random.next() >= laptop.missedRatio) drawn = tickOf(firstTick + i - leadTicks);
		contents.set(codewords.subarray(drawn * PAIRS, (drawn + 1) * PAIRS), i * PAIRS);
	}
	return createGlowingScreen(changesMs, contents, { width: PAIRS, responseMs: laptop.responseMs });
}

function tabletScreen(spec: OpticalSpec, laptop: GlowingScreen): GlowingScreen {
	const { exposureMs } = spec.scope;
	const shown = truePictures(spec).filter(({ refreshMs }) => refreshMs !== null);
	const changesMs = Float64Array.from(shown, ({ refreshMs }) => refreshMs ?? 0);
	const contents = new Float64Array(shown.length * PAIRS);
	for (const [i, { contentMs }] of shown.entries())
		laptop.expose(
			contentMs - exposureMs / 2,
			contentMs + exposureMs / 2,
			contents.subarray(i * PAIRS, (i + 1) * PAIRS),
		);
	return createGlowingScreen(changesMs, contents, { width: PAIRS, responseMs: spec.tablet.responseMs });
}

type Seen = {
	readonly spec: OpticalSpec;
	readonly random: Random;
	readonly into: Float32Array;
	readonly frame: number;
};

function see(screen: GlowingScreen, fromMs: number, { spec, random, into, frame }: Seen): void {
	const mean = new Float64Array(PAIRS);
	screen.expose(fromMs, fromMs + spec.phone.exposureMs, mean);
	for (let pair = 0; pair < PAIRS; pair++)
		into[frame * PAIRS + pair] = spec.vectorGain * mean[pair]! + spec.vectorNoise * random.normal();
}
