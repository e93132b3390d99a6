/** A yard check for a terminal. */
import { item, type Page, paragraphLines, title } from './paper.ts';
import type { Section } from './wordSection.ts';
import { BACK_TO_THE_KIT } from './yardWords.ts';

export function sectionText({ title: heading, items }: Section, page: Page): string {
	return [...title(heading, page), ...items.flatMap((words) => item(words, page)), ''].join('\n');
}

export function paragraphText(text: string, page: Page): string {
	return paragraphLines(text, page).join('\n');
}

/** The last screen. */
export function backToKitText(page: Page): string {
	const steps = BACK_TO_THE_KIT.flatMap((words, i) => item(words, page, `${i + 1}. `));
	return [...title('Back to the kit', page), ...steps, ''].join('\n');
}
