/** An acceptance record for a terminal: what it says, what is against it, what keeps it from being signed. */
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
import { INVENTED_WORDS } from './comparisonWords.ts';
import { item, type Page, paragraphLines, title } from './paper.ts';
import { ACCEPTANCE_RISK } from './risk.ts';

export function renderAcceptance(record: AcceptanceRecord, page: Page): string {
	const { acceptance, form, attempts } = record;
	const obstacles = signOffObstacles(record);
	const lines = [
		...(record.invented ? paragraphLines(INVENTED_WORDS, page) : []),
		...paragraphLines(`${record.kit}: ${outcomeWords(acceptance, form)}`, page),
		...acceptance.reasons.flatMap((text) => item(text, page)),
		...paragraphLines(criteriaOfRecord(record), page),
		...title('Figures: before, now, worse by at most, tolerance', page),
		...acceptance.figures.flatMap((row) => {
			const [label, before, now, worse, tolerance, note] = acceptanceRow(row);
			return item(`${label}: ${before}; ${now}; ${worse}; ${tolerance}. ${note}.`, page);
		}),
		...title('Every attempt since it came back', page),
		...attempts.flatMap(({ runId, headline, failures, counted }) =>
			item(
				`${runId}: ${headline}${counted ? '' : ' (not counted)'}${failures.length === 0 ? '' : `; ${failures.join('; ')}`}`,
				page,
			),
		),
		...item(notEnteredWords(record.notEntered), page),
		...item(earlierWords(record.earlier), page),
		...title('What was written down', page),
		...formRows(form).flatMap(([term, text]) => item(`${term}: ${text}`, page)),
		...checkRows(form).flatMap(([term, ...rest]) =>
			item(`${term}: ${rest.filter((w) => w !== '').join(', ')}`, page),
		),
		...item(`decision: ${decisionWords(form)}`, page),
		...title(record.signedAt === null ? 'Not signed' : `Signed off ${record.signedAt}`, page),
		...obstacles.flatMap((text) => item(text, page)),
		'',
		...paragraphLines(ACCEPTANCE_RISK, page),
		...paragraphLines(REMAINING_TESTS, page),
		...paragraphLines(OWNER_LINE, page),
	];
	return `${lines.join('\n')}\n`;
}
