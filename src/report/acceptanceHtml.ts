/** An acceptance record as a page to print and keep: all of it, draft or signed. */
import { type AcceptanceRecord, signOffObstacles } from '../verdict/acceptanceRecord.ts';
import {
	acceptanceRow,
	checkRows,
	criteriaOfRecord,
	decisionWords,
	earlierWords,
	formRows,
	notEnteredWords,
	OWNER_LINE,
	outcomeWords,
	REMAINING_TESTS,
} from './acceptanceWords.ts';
import { LIMITS_CAUTION } from './cautions.ts';
import { INVENTED_WORDS } from './comparisonWords.ts';
import { renderPage } from './htmlPage.ts';
import {
	bulletList,
	html,
	nothing,
	paragraph,
	type SafePiece,
	section,
	table,
	termList,
} from './htmlParts.ts';
import { ACCEPTANCE_RISK } from './risk.ts';

/** Acceptable: the frame of the use it was asked for. */
const FRAMES = { notAcceptable: 'unfit', notEnoughEvidence: 'undetermined' } as const;

export function renderAcceptanceHtml(record: AcceptanceRecord): string {
	const { form } = record;
	return renderPage({
		title: `Acceptance of ${record.kit}, job ${form.jobNumber}`,
		masthead: ['acceptance after repair', record.kit, `job ${form.jobNumber}`, signedWords(record)],
		body: acceptanceParts(record),
	});
}

function signedWords({ signedAt }: AcceptanceRecord): string {
	return signedAt === null ? 'DRAFT, not signed' : `signed off ${signedAt}`;
}

/** All of the record, without the page round it. */
export function acceptanceParts(record: AcceptanceRecord): SafePiece[] {
	const { acceptance, form, attempts } = record;
	const obstacles = signOffObstacles(record);
	return [
		record.invented ? paragraph(INVENTED_WORDS) : nothing,
		html`<div class="frame frame-${acceptance.outcome === 'acceptable' ? form.use : FRAMES[acceptance.outcome]}"><p class="judged">${record.kit}</p>
<h1>${outcomeWords(acceptance, form)}</h1>
<p class="order">${decisionWords(form)}</p>${termList([
			['tested by', form.testedBy],
			['released by', form.releasedBy],
			['signed', signedWords(record)],
		])}</div>`,
		acceptance.reasons.length === 0 ? nothing : bulletList(acceptance.reasons),
		paragraph(criteriaOfRecord(record)),
		section('figures', 'Held against its own reference', [
			table(
				'A figure passes when what it may be worse by (95 % bound, sessions as the unit, the rig’s doubt included) is within the tolerance. Better or different fails nothing.',
				[
					{ title: 'figure' },
					{ title: 'before', numeric: true },
					{ title: 'now', numeric: true },
					{ title: 'worse by at most', numeric: true },
					{ title: 'tolerance' },
					{ title: 'what it says' },
				],
				acceptance.figures.map(acceptanceRow),
			),
			paragraph(`Reference runs: ${record.referenceRuns.join(', ') || 'none'}.`, 'small'),
		]),
		section('attempts', 'Every attempt since it came back', [
			table(
				'In the order of time; nothing is left out. The fingerprint is the SHA-256 of the run’s seal.',
				[{ title: 'run' }, { title: 'what it said' }, { title: 'against it' }, { title: 'fingerprint' }],
				attempts.map(({ runId, startedAt, headline, failures, counted, sealSha256 }) => [
					`${runId}, ${startedAt.slice(0, 16).replace('T', ' ')}`,
					counted ? headline : `${headline} (not counted)`,
					failures.join('; ') || 'nothing',
					sealSha256?.slice(0, 16) ?? 'none',
				]),
			),
			paragraph(notEnteredWords(record.notEntered), 'small'),
			paragraph(earlierWords(record.earlier), 'small'),
		]),
		section('written', 'What was written down', [termList(formRows(form))]),
		section('checks', 'The maker’s tests', [
			table(
				'Said by the people named; not measured by this tool.',
				[{ title: 'test' }, { title: 'state' }, { title: 'by' }, { title: 'reference' }],
				checkRows(form),
			),
			paragraph(REMAINING_TESTS, 'small'),
		]),
		record.signedAt !== null || obstacles.length === 0
			? nothing
			: section('obstacles', 'Why it is not signed', [bulletList(obstacles)]),
		section('risk', 'How often this is wrong', [paragraph(ACCEPTANCE_RISK)]),
		paragraph(OWNER_LINE),
		paragraph(LIMITS_CAUTION, 'small'),
		paragraph(`steerworthy ${record.toolVersion}`, 'small'),
	];
}
