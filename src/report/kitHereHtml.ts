/** The kit here on one page, to show on the tablet or to print. */
import { renderPage } from './htmlPage.ts';
import { bulletList, html, paragraph, type SafePiece, section } from './htmlParts.ts';
import { kitHereSections, kitHereSubject, type ToldHere } from './kitHereWords.ts';
import { FITNESS_FRAME } from './words.ts';

export function renderKitHerePage(here: ToldHere, toolVersion: string): string {
	return renderPage({
		title: kitHereSubject(here),
		masthead: [kitHereSubject(here)],
		body: [...kitHereParts(here), paragraph(`steerworthy ${toolVersion}.`, 'small')],
	});
}

/** The answer in its frame, and what it rests on. */
export function kitHereParts(here: ToldHere): SafePiece[] {
	const headline = here.headline.charAt(0).toUpperCase() + here.headline.slice(1);
	const { name, hash } = here.criteria;
	return [
		html`<div class="frame frame-${here.fitness}" role="group" aria-label="the answer"><p class="judged">${kitHereSubject(here)}</p><h1>${headline}</h1><p class="order">${here.order}</p></div>`,
		paragraph(`Frame, ${FITNESS_FRAME[here.fitness]}. Judged by the criteria ${name} (${hash}).`, 'small'),
		...kitHereSections(here).map(({ title, items }, i) => section(`part-${i}`, title, [bulletList(items)])),
	];
}
