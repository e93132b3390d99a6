/** A yard check on one page, to show on the tablet or to print. */
import { renderPage } from './htmlPage.ts';
import { bulletList, html, joinHtml, paragraph, section } from './htmlParts.ts';
import { BACK_TO_THE_KIT, type Section } from './yardWords.ts';

type YardPage = {
	readonly name: string;
	readonly startedAt: string;
	readonly sections: readonly Section[];
	/** Double line for steering, hatched for unfit, dotted for not yet. */
	readonly steer: 'yes' | 'no' | 'undetermined' | 'notAsked';
	readonly toolVersion: string;
};

const FRAME = {
	yes: 'steering',
	no: 'unfit',
	undetermined: 'undetermined',
	notAsked: 'undetermined',
} as const;
const STYLE = 'main section { margin-top: 1.2rem; } .frame h1 { font-size: var(--title); }';

export function renderYardPage({ name, startedAt, sections, steer, toolVersion }: YardPage): string {
	const [answer, ...others] = sections;
	const [headline = '', ...because] = answer?.items ?? [];
	return renderPage({
		title: `Yard check ${name}`,
		masthead: [`yard check ${name}`, startedAt.slice(0, 16).replace('T', ' ')],
		style: STYLE,
		body: [
			html`<div class="frame frame-${FRAME[steer]}"><h1>${headline}</h1>${joinHtml(because.map((words) => paragraph(words)))}</div>`,
			html`<main>${joinHtml([
				...others.map(({ title, items }, i) => section(`part-${i}`, title, [bulletList(items)])),
				section('back', 'Back to the kit', [bulletList(BACK_TO_THE_KIT)]),
			])}</main>`,
			paragraph(
				`steerworthy ${toolVersion}. It measures a picture link; it is not a medical device. Before sedation; what was measured this morning does not carry to this afternoon. A frozen picture looks like a still one: if unsure, move the wheel slightly; frozen: stop advancing, hands light, wait.`,
				'small',
			),
		],
	});
}
