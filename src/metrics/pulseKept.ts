/**
 * Whether a small periodic movement (breathing, a pulse) survives the way to the viewer: the movement's place over time at the
 * source and as seen, each fitted by one sine at the source's rate, with a level and a drift. Kept amplitude is their
 * ratio, the lag their difference in phase. Rates of 15 to 60 a minute; 28 to 44 a minute is the resting heart rate of a horse by
 * common practice.
 *
 * Source: least squares of a sine of known frequency is linear in its two parts; the rate is refined by golden section.
 */
import { leastSquares } from '../statistics/linearSystem.ts';
import type { NotMeasured } from './metric.ts';
import type { PulseKept } from './pictureMetric.ts';

export type Placed = { readonly atMs: number; readonly px: number };

const SLOWEST_PER_MIN = 15;
const FASTEST_PER_MIN = 60;
const GRID_PER_MIN = 0.5;
const LEAST_PERIODS = 2;
const LEAST_PLACES = 12;

export function measurePulseKept(
	source: readonly Placed[],
	seen: readonly Placed[],
): PulseKept | NotMeasured {
	const spanMs = Math.min(spanOf(source), spanOf(seen));
	if (
		Math.min(source.length, seen.length) < LEAST_PLACES ||
		spanMs < (LEAST_PERIODS * 60_000) / FASTEST_PER_MIN
	)
		return notMeasured(
			'tooShort',
			`A pulse needs ${LEAST_PLACES} pictures looked at and ${LEAST_PERIODS} of its periods to be told; there were ${Math.min(source.length, seen.length)} in ${(spanMs / 1000).toFixed(0)} s. Run for longer.`,
		);
	const ratePerMin = rateOf(source, spanMs);
	if (spanMs * ratePerMin < LEAST_PERIODS * 60_000)
		return notMeasured(
			'tooShort',
			`At ${ratePerMin.toFixed(0)} a minute, ${LEAST_PERIODS} periods take longer than was seen.`,
		);
	const at = fitSine(source, ratePerMin);
	const to = fitSine(seen, ratePerMin);
	if (!(at.amplitude > 0)) return notMeasured('noPulse', 'The source itself did not move.');
	const periodMs = 60_000 / ratePerMin;
	let lagMs = ((to.phase - at.phase) / (2 * Math.PI)) * periodMs;
	lagMs -= periodMs * Math.round(lagMs / periodMs);
	return {
		kind: 'measured',
		ratePerMin,
		sourceAmplitudePx: at.amplitude,
		seenAmplitudePx: to.amplitude,
		keptRatio: to.amplitude / at.amplitude,
		lagMs,
		restPx: to.rest,
	};
}

function spanOf(places: readonly Placed[]): number {
	return places.length === 0 ? 0 : places.at(-1)!.atMs - places[0]!.atMs;
}

/** The rate whose sine leaves least: a grid, then golden section between the neighbours of its best. */
function rateOf(source: readonly Placed[], spanMs: number): number {
	const slowest = Math.max(SLOWEST_PER_MIN, (LEAST_PERIODS * 60_000) / spanMs);
	let best = FASTEST_PER_MIN;
	for (let rate = slowest; rate <= FASTEST_PER_MIN; rate += GRID_PER_MIN)
		if (fitSine(source, rate).rest < fitSine(source, best).rest) best = rate;
	let [low, high] = [best - GRID_PER_MIN, best + GRID_PER_MIN];
	const golden = (Math.sqrt(5) - 1) / 2;
	while (high - low > 1e-4) {
		const left = high - golden * (high - low);
		const right = low + golden * (high - low);
		if (fitSine(source, left).rest < fitSine(source, right).rest) high = right;
		else low = left;
	}
	return (low + high) / 2;
}

/** `phase`: how far after time 0 its greatest place comes, as an angle. */
function fitSine(places: readonly Placed[], ratePerMin: number) {
	const turns = (2 * Math.PI * ratePerMin) / 60_000;
	const middleMs = (places[0]!.atMs + places.at(-1)!.atMs) / 2;
	const half = Math.max(1, spanOf(places) / 2);
	const terms = places.map(({ atMs }) => [
		Math.cos(turns * atMs),
		Math.sin(turns * atMs),
		1,
		(atMs - middleMs) / half,
	]);
	const factors = leastSquares(
		terms,
		places.map(({ px }) => px),
	);
	const squares = terms.reduce((sum, term, i) => {
		const fitted = term.reduce((total, value, j) => total + value * factors[j]!, 0);
		return sum + (places[i]!.px - fitted) ** 2;
	}, 0);
	const [cosine, sine] = factors as [number, number];
	return {
		amplitude: Math.hypot(cosine, sine),
		phase: Math.atan2(sine, cosine),
		rest: Math.sqrt(squares / places.length),
	};
}

function notMeasured(reason: string, explanation: string): NotMeasured {
	return { kind: 'notMeasured', reason, explanation };
}
