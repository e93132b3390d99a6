/** What the delay read costs the hand, in the report: an explanation under its own title, beside no limit and no answer. */
import { type HandChoice, type HandRow, handRows, USUAL_HAND } from '../verdict/handCost.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { HAND_SOURCE, NOT_IN_LOOP, SLOWING_WORDS, TRAVEL_WORDS } from './handWords.ts';
import { joinHtml, nothing, paragraph, type SafePiece, section, table } from './htmlParts.ts';
import { formatMs, formatNumber, formatShare } from './numbers.ts';

/** Empty where no delay was read, or no median and P95 of it. A link's own delay alone understates it: the section says so. */
export function handPart({ metrics, run }: ResultDocument): SafePiece {
	const { freshDelay } = metrics;
	if (freshDelay.kind !== 'measured') return nothing;
	const { medianMs, p95Ms } = freshDelay;
	if (medianMs === null || p95Ms === null) return nothing;
	return section('hand', 'What this delay costs the hand', [
		handTables({ medianMs, p95Ms }, USUAL_HAND),
		paragraph(
			'For other tip speeds: steerworthy hand FOLDER --tip 15,30, or the console’s page for it.',
			'small',
		),
		run.subject.kind === 'link' ? paragraph(NOT_IN_LOOP, 'small') : joinHtml([]),
	]);
}

/** Both tables, for a choice of one's own; throws `RangeError` for one that cannot be. */
export function handTables(
	delay: { readonly medianMs: number; readonly p95Ms: number },
	choice: HandChoice,
): SafePiece {
	const rows = handRows(delay, choice);
	return joinHtml([paragraph(HAND_SOURCE, 'small'), slowingTable(rows, choice), travelTable(rows, choice)]);
}

function slowingTable(rows: readonly HandRow[], { difficultyBits }: HandChoice): SafePiece {
	return table(
		SLOWING_WORDS(difficultyBits),
		[
			{ title: 'delay up to this' },
			{ title: 'delay', numeric: true },
			{ title: 'the reach takes', numeric: true },
			{ title: 'misses in the study', numeric: true },
			{ title: 'within the study’s delays' },
		],
		rows.map(({ name, delayMs, slowingRatio, errorRatio, extrapolated }) => [
			name,
			formatMs(delayMs),
			`${formatNumber(slowingRatio, 2)} times as long`,
			errorRatio === null ? 'not told' : formatShare(errorRatio),
			extrapolated ? 'no: extrapolated beyond 225 ms' : 'yes',
		]),
	);
}

function travelTable(rows: readonly HandRow[], { tipSpeedsMmPerS }: HandChoice): SafePiece {
	return table(
		TRAVEL_WORDS,
		[
			{ title: 'tip speed' },
			...rows.map(({ name, delayMs }) => ({ title: `${name} (${formatMs(delayMs)})`, numeric: true })),
		],
		tipSpeedsMmPerS.map((speed, i) => [
			`${speed} mm/s`,
			...rows.map(({ blindTravelMm }) => `${formatNumber(blindTravelMm[i] ?? 0, 1)} mm`),
		]),
	);
}
