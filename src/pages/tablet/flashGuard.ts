/**
 * The flash rule at the size at which the card is really displayed, asked again whenever that size changes. The page
 * first keeps the card to the greatest width that the rule allows; what is then displayed is judged all the same.
 */
import type { CardSpec } from '../../pattern/card.ts';
import { cardFlashAreas, greatestSafeCssWidth } from '../../pattern/cardFlashes.ts';
import { type FlashJudgement, judgeFlashes } from '../../pattern/flashRule.ts';

type Shown = { readonly spec: CardSpec; readonly rateHz: number };
type Box = { readonly width: number; readonly height: number };

/** Displayed width of the card in CSS pixels when it is fitted into a box whole. */
export function fittedWidthCssPx(
	box: Box,
	card: { readonly widthPx: number; readonly heightPx: number },
): number {
	return Math.min(box.width, (box.height * card.widthPx) / card.heightPx);
}

/** Keeps the canvas from growing beyond the width that the rule allows. */
export function limitWidth(canvas: HTMLCanvasElement, { spec, rateHz }: Shown): void {
	const safe = greatestSafeCssWidth(spec, rateHz);
	canvas.style.maxWidth = Number.isFinite(safe) ? `${safe}px` : '';
}

/** Judges the card in this window now, and again on every change of its size. */
export function watchFlashRule(
	{ spec, rateHz }: Shown,
	displayedWidthCssPx: () => number,
	onJudged: (judgement: FlashJudgement) => void,
): void {
	const judge = (): void =>
		onJudged(judgeFlashes(cardFlashAreas(spec, Math.max(1, displayedWidthCssPx()), rateHz)));
	judge();
	window.addEventListener('resize', judge);
}
