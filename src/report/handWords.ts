/** The words about what delay costs the hand, for terminal and page alike. */
import { type HandChoice, handRows } from '../verdict/handCost.ts';
import { formatMs, formatNumber, formatShare } from './numbers.ts';
import { item, type Page, paragraphLines } from './paper.ts';

export const HAND_SOURCE =
	'An explanation, not a criterion: nothing here enters the answer. The study is of pointing with a mouse, 8 people (MacKenzie and Ware 1993, as quoted by others); no study was done with a flexible endoscope in a horse.';
export const NOT_IN_LOOP = 'The scope and its app were not in the loop: with them it is more.';
export const TRAVEL_WORDS = 'How far the tip goes before its picture shows it; a freeze adds its own length.';
export const SLOWING_WORDS = (bits: number): string =>
	`Predicted by the study’s regression for a reach of ${bits} bits, against hardly any delay.`;

type Told = {
	readonly delay: { readonly medianMs: number; readonly p95Ms: number };
	readonly choice: HandChoice;
	/** Whether only the way through the air was measured. */
	readonly linkOnly: boolean;
};

/** As a terminal shows it. */
export function renderHand({ delay, choice, linkOnly }: Told, page: Page): string {
	const rows = handRows(delay, choice);
	const lines = [
		...paragraphLines('WHAT THIS DELAY COSTS THE HAND', page),
		...paragraphLines(HAND_SOURCE, page),
		'',
		...paragraphLines(SLOWING_WORDS(choice.difficultyBits), page),
		...rows.flatMap(({ name, delayMs, slowingRatio, errorRatio, extrapolated }) =>
			item(
				`${name} (${formatMs(delayMs)}): ${formatNumber(slowingRatio, 2)} times as long; misses in the study ${errorRatio === null ? 'not told' : formatShare(errorRatio)}${extrapolated ? '; extrapolated beyond the study’s 225 ms' : ''}`,
				page,
				'- ',
			),
		),
		'',
		...paragraphLines(TRAVEL_WORDS, page),
		...choice.tipSpeedsMmPerS.flatMap((speed, i) =>
			item(
				`${speed} mm/s: ${rows.map(({ name, blindTravelMm }) => `${formatNumber(blindTravelMm[i] ?? 0, 1)} mm (${name})`).join(', ')}`,
				page,
				'- ',
			),
		),
		...(linkOnly ? paragraphLines(NOT_IN_LOOP, page) : []),
	];
	return `${lines.join('\n')}\n`;
}
