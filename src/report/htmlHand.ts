/** What the delay read costs the hand, in the report: an explanation under its own title, beside no limit and no answer. */
import { blindTravelMm, handCost } from '../verdict/handCost.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { joinHtml, nothing, paragraph, type SafePiece, section, table } from './htmlParts.ts';
import { formatMs, formatNumber, formatShare } from './numbers.ts';

/** A reach of middling difficulty: to a target a fifteenth as wide as the way to it is long. */
const DIFFICULTY_BITS = 4;
const TIP_SPEEDS_MM_PER_S = [10, 20, 50];

/** Empty where no delay was read. A link's own delay alone understates it: the section says so. */
export function handPart({ metrics, run }: ResultDocument): SafePiece {
	const { freshDelay } = metrics;
	if (freshDelay.kind !== 'measured') return nothing;
	const lags = [
		{ name: 'half of the time', lagMs: freshDelay.medianMs },
		{ name: '19 times in 20', lagMs: freshDelay.p95Ms },
	].map((lag) => ({ ...lag, lagMs: Math.max(0, lag.lagMs) }));
	return section('hand', 'What this delay costs the hand', [
		paragraph(
			'An explanation, not a criterion: nothing here enters the answer. The study is of pointing with a mouse, 8 people (MacKenzie and Ware 1993, as quoted by others); no study was done with a flexible endoscope in a horse.',
			'small',
		),
		slowingTable(lags),
		travelTable(lags),
		run.subject.kind === 'link'
			? paragraph('The scope and its app were not in the loop: with them it is more.', 'small')
			: joinHtml([]),
	]);
}

type Lag = { readonly name: string; readonly lagMs: number };

function slowingTable(lags: readonly Lag[]): SafePiece {
	return table(
		`Predicted by the study’s regression for a reach of ${DIFFICULTY_BITS} bits, against hardly any delay.`,
		[
			{ title: 'delay up to this' },
			{ title: 'delay', numeric: true },
			{ title: 'the reach takes', numeric: true },
			{ title: 'misses in the study', numeric: true },
			{ title: 'within the study’s delays' },
		],
		lags.map(({ name, lagMs }) => {
			const { slowingRatio, errorRatio, extrapolated } = handCost(lagMs, DIFFICULTY_BITS);
			return [
				name,
				formatMs(lagMs),
				`${formatNumber(slowingRatio, 2)} times as long`,
				errorRatio === null ? 'not told' : formatShare(errorRatio),
				extrapolated ? 'no: extrapolated beyond 225 ms' : 'yes',
			];
		}),
	);
}

function travelTable(lags: readonly Lag[]): SafePiece {
	return table(
		'How far the tip goes before its picture shows it; a freeze adds its own length.',
		[
			{ title: 'tip speed' },
			...lags.map(({ name, lagMs }) => ({ title: `${name} (${formatMs(lagMs)})`, numeric: true })),
		],
		TIP_SPEEDS_MM_PER_S.map((speed) => [
			`${speed} mm/s`,
			...lags.map(({ lagMs }) => `${formatNumber(blindTravelMm(lagMs, speed), 1)} mm`),
		]),
	);
}
