/** A yard check on one page, to show on the tablet or to print: the answer, who stands where, what was found, back to the kit. */
import type { YardSession } from '../verdict/yardSession.ts';
import { renderPage } from './htmlPage.ts';
import { bulletList, html, joinHtml, paragraph, section } from './htmlParts.ts';
import type { CausesOf } from './repeatWords.ts';
import { answerFrame } from './yardAnswer.ts';
import { yardDrawing } from './yardDrawing.ts';
import { BACK_TO_THE_KIT, ROLES, yardSections } from './yardWords.ts';

type YardPage = {
	readonly session: YardSession;
	readonly causesOf: CausesOf;
	readonly toolVersion: string;
};

/** This page can be read while a run is on: what the last screen states is something to do here. */
const PAGE_CLOSED = 'Close our page on the tablet and stop any run: then nothing of ours is sending.';
const STYLE = `
main section { margin-top: 1.2rem; } .frame h1 { font-size: var(--title); }
svg.stand { display: block; width: 100%; max-width: 40rem; height: auto; margin: 0 0 0.6rem; }
@media print { section { break-inside: avoid; } }
`;

export function renderYardPage({ session, causesOf, toolVersion }: YardPage): string {
	const { name, startedAt } = session;
	const [answer, ...others] = yardSections(session, causesOf);
	const [headline = '', ...because] = answer?.items ?? [];
	return renderPage({
		title: `Yard check ${name}`,
		masthead: [`yard check ${name}`, startedAt.slice(0, 16).replace('T', ' ')],
		style: STYLE,
		body: [
			html`<div class="frame frame-${answerFrame(session)}"><h1>${headline}</h1>${joinHtml(because.map((words) => paragraph(words)))}</div>`,
			section('roles', 'Who stands where', [
				yardDrawing(),
				html`<ol>${joinHtml(ROLES.map((words) => html`<li>${words}</li>`))}</ol>`,
			]),
			...others.map(({ title, items }, i) => section(`part-${i}`, title, [bulletList(items)])),
			section('back', 'Back to the kit', [bulletList([PAGE_CLOSED, ...BACK_TO_THE_KIT.slice(1)])]),
			paragraph(
				`steerworthy ${toolVersion}. It measures a picture link; it is not a medical device. Before sedation; what was measured this morning does not carry to this afternoon. A frozen picture looks like a still one: if unsure, move the wheel slightly; frozen: stop advancing, hands light, wait.`,
				'small',
			),
		],
	});
}
