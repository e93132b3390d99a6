/** Picture-age curves of made links for the tests of the episode bound: seeded, 30 pictures a second. */
import { CurveBuilder, type LevelCurve } from '../../src/statistics/levelCurve.ts';
import { createRandom } from '../../src/statistics/random.ts';

const PICTURE_MS = 1000 / 30;

/** Delays of an AR(1) process: mean 100 ms, the given correlation from picture to picture and standard deviation. */
export function wanderingLink(link: {
	readonly correlation: number;
	readonly deviationMs: number;
	readonly seconds: number;
	readonly seed: number;
}): LevelCurve {
	const random = createRandom(link.seed);
	let deviation = random.normal();
	return ageCurve(link.seconds, () => {
		deviation = link.correlation * deviation + Math.sqrt(1 - link.correlation ** 2) * random.normal();
		return 100 + link.deviationMs * deviation;
	});
}

/** Good and bad stretches of exponential lengths in seconds; 90 ms worse in a bad one. */
export function spellLink(link: {
	readonly goodS: number;
	readonly badS: number;
	readonly seconds: number;
	readonly seed: number;
}): LevelCurve {
	const random = createRandom(link.seed);
	let bad = random.next() < link.badS / (link.goodS + link.badS);
	let untilS = random.exponential(bad ? link.badS : link.goodS);
	return ageCurve(link.seconds, (atS) => {
		while (atS >= untilS) {
			bad = !bad;
			untilS += random.exponential(bad ? link.badS : link.goodS);
		}
		return 80 + random.exponential(5) + (bad ? 90 : 0);
	});
}

/** Age curve of pictures taken steadily, each with the delay that is asked for at its instant. */
export function ageCurve(seconds: number, delayMs: (atS: number) => number): LevelCurve {
	const builder = new CurveBuilder(1);
	let takenMs = 0;
	let seenMs = delayMs(0);
	for (let k = 1; k <= Math.round(seconds * 30); k++) {
		const nextSeenMs = Math.max(seenMs, k * PICTURE_MS + delayMs((k * PICTURE_MS) / 1000));
		builder.add(nextSeenMs - seenMs, seenMs - takenMs);
		seenMs = nextSeenMs;
		takenMs = k * PICTURE_MS;
	}
	return builder.finish();
}
