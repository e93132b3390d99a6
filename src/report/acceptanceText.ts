/** An acceptance record for a terminal: what it says, what is against it, what keeps it from being signed. */
import { type AcceptanceRecord, signOffObstacles } from '../verdict/acceptanceRecord.ts';
import {
	acceptanceRow,
	checkRows,
	DECISION_WORDS,
	formRows,
	OWNER_LINE,
	outcomeWords,
	REMAINING_TESTS,
} from './acceptanceWords.ts';
import { bullet, cleanText, type Glyphs, wrapText } from './textLayout.ts';

type Page = { readonly columns: number; readonly glyphs: Glyphs };

export function renderAcceptance(record: AcceptanceRecord, page: Page): string {
	const { acceptance, form, attempts } = record;
	const obstacles = signOffObstacles(record);
	const lines = [
		...wrapText(clean(`${record.kit}: ${outcomeWords(acceptance)}`, page), page.columns),
		...acceptance.reasons.flatMap((text) => item(text, page)),
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
		...title('What was written down', page),
		...formRows(form).flatMap(([term, text]) => item(`${term}: ${text}`, page)),
		...checkRows(form).flatMap(([term, ...rest]) =>
			item(`${term}: ${rest.filter((w) => w !== '').join(', ')}`, page),
		),
		...item(
			`decision: ${form.decision === null ? 'none yet' : DECISION_WORDS[form.decision]} ${form.restrictions}`,
			page,
		),
		...title(record.signedAt === null ? 'Not signed' : `Signed off ${record.signedAt}`, page),
		...obstacles.flatMap((text) => item(text, page)),
		'',
		...wrapText(clean(REMAINING_TESTS, page), page.columns),
		...wrapText(clean(OWNER_LINE, page), page.columns),
	];
	return `${lines.join('\n')}\n`;
}

function title(text: string, page: Page): string[] {
	return ['', ...wrapText(clean(text, page).toUpperCase(), page.columns)];
}
function item(text: string, page: Page): string[] {
	return bullet('- ', clean(text, page), page.columns);
}
function clean(text: string, { glyphs }: Page): string {
	return cleanText(text, glyphs);
}
