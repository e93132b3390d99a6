/** The kit here on one page, to show on the tablet or to print. */
import type { KitHere } from '../verdict/kitHere.ts';
import { SHORT_CAUTIONS } from './cautions.ts';
import { renderPage } from './htmlPage.ts';
import { bulletList, html, paragraph, section } from './htmlParts.ts';
import { kitHereSections, kitHereSubject } from './kitHereWords.ts';
import { FITNESS_FRAME } from './words.ts';

export function renderKitHerePage(here: KitHere, toolVersion: string): string {
	const headline = here.headline.charAt(0).toUpperCase() + here.headline.slice(1);
	return renderPage({
		title: kitHereSubject(here),
		masthead: [kitHereSubject(here), here.runs.here.startedAt.slice(0, 16).replace('T', ' ')],
		body: [
			html`<div class="frame frame-${here.fitness}" role="group" aria-label="the answer"><p class="judged">${kitHereSubject(here)}</p><h1>${headline}</h1><p class="order">${here.order}</p></div>`,
			paragraph(`Frame, ${FITNESS_FRAME[here.fitness]}.`, 'small'),
			...kitHereSections(here).map(({ title, items }, i) => section(`part-${i}`, title, [bulletList(items)])),
			section('before', 'Before you go on', [bulletList(SHORT_CAUTIONS)]),
			paragraph(
				`steerworthy ${toolVersion}. Criteria: ${here.criteria.name} (${here.criteria.hash}).`,
				'small',
			),
		],
	});
}
