/** The flash rule at the size at which the card is really displayed, asked again whenever that size changes. */
import type { CardSpec } from '../../pattern/card.ts';
import { cardFlashAreas, type FlashJudgement, judgeFlashes } from '../../pattern/flashRule.ts';

/** Displayed width of the card in CSS pixels when it is fitted into a box. */
export function fittedWidthCssPx(
	box: { readonly width: number; readonly height: number },
	card: { readonly widthPx: number; readonly heightPx: number },
): number {
	return Math.min(box.width, (box.height * card.widthPx) / card.heightPx);
}

/** Judges the card in this window now, and again on every change of its size, until the returned function is called. */
export function watchFlashRule(
	spec: CardSpec,
	displayedWidthCssPx: () => number,
	onJudged: (judgement: FlashJudgement) => void,
): () => void {
	const judge = (): void => onJudged(judgeFlashes(cardFlashAreas(spec, displayedWidthCssPx())));
	judge();
	window.addEventListener('resize', judge);
	return () => window.removeEventListener('resize', judge);
}
