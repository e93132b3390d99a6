/** The words of an acceptance record, shared by terminal and page. */
import type { Acceptance, FigureAcceptance } from '../verdict/acceptance.ts';
import { type AcceptanceForm, CHECKS, FORM_WORDS } from '../verdict/acceptanceForm.ts';
import type { AcceptanceRecord } from '../verdict/acceptanceRecord.ts';
import { readingWords } from './comparisonWords.ts';

/** What an owner is told. */
export const OWNER_LINE = 'This checks the picture link, not the horse.';

export const REMAINING_TESTS =
	'This is a picture-link measurement. After a repair the electrical safety test, leak test, channel and bending check, light output and reprocessing steps of the maker’s instructions remain to be done; what is written of them here was said by a person and not measured.';

const OUTCOME_WORDS: Readonly<Record<Acceptance['outcome'], string>> = {
	acceptable: 'acceptable: no worse than before by more than the tolerances, and within the criteria',
	notAcceptable: 'not acceptable',
	notEnoughEvidence: 'not enough evidence yet: treat as not accepted',
};

const DECISION_WORDS: Readonly<Record<NonNullable<AcceptanceForm['decision']>, string>> = {
	released: 'released',
	releasedWithRestrictions: 'released with restrictions',
	notReleased: 'not released',
	backToRepairer: 'back to the repairer',
};

export function decisionWords({ decision, restrictions }: AcceptanceForm): string {
	if (decision === null) return 'no decision yet';
	return decision === 'releasedWithRestrictions'
		? `${DECISION_WORDS[decision]}: ${restrictions}`
		: DECISION_WORDS[decision];
}

const CHECK_WORDS = { done: 'done', notDone: 'NOT done', notApplicable: 'not applicable' } as const;

/** With the use it was asked for: what is accepted as a record may still be no picture to steer by. */
export function outcomeWords({ outcome, against }: Acceptance, { use }: AcceptanceForm): string {
	const words =
		against === 'limitsOnly' && outcome === 'acceptable'
			? 'acceptable by the limits alone: there is no reference to hold it against'
			: OUTCOME_WORDS[outcome];
	return use === 'recording' ? `${words}; asked for recording only, NOT for steering` : words;
}

/** Figure, before, now, worse by at most, tolerance, what it says. */
export function acceptanceRow(row: FigureAcceptance): readonly string[] {
	const { unit } = row.figure;
	const mean = (values: readonly number[]): number | null =>
		values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
	return [
		row.figure.label,
		readingWords(mean(row.before), unit),
		readingWords(mean(row.now), unit),
		row.worseByUpper === null ? '–' : readingWords(row.worseByUpper, unit),
		row.tolerance === null ? '–' : `${readingWords(row.tolerance.value, unit)} (${row.tolerance.from})`,
		row.note,
	];
}

export function formRows(form: AcceptanceForm): (readonly [string, string])[] {
	const said = (text: string): string => (text.trim() === '' ? 'NOT WRITTEN DOWN' : text);
	const keys = Object.keys(FORM_WORDS) as (keyof typeof FORM_WORDS)[];
	return [
		...keys.map((key) => [FORM_WORDS[key], said(form[key])] as const),
		['came back on', said(form.returnedOn)],
		['new part', form.newPart],
		['to be used for', form.use],
		['picture', form.orientation ?? 'NOT WRITTEN DOWN'],
		[
			'wheel up: does the picture go up?',
			form.wheelUpPictureUp === null ? 'NOT TRIED' : form.wheelUpPictureUp ? 'yes' : 'NO',
		],
		...(form.notes === '' ? [] : [['notes', form.notes] as const]),
	];
}

export function checkRows(form: AcceptanceForm): (readonly [string, string, string, string])[] {
	return (Object.keys(CHECKS) as (keyof typeof CHECKS)[]).map((key) => {
		const { state, by, reference } = form.checks[key];
		return [CHECKS[key], state === null ? 'NOT WRITTEN DOWN' : CHECK_WORDS[state], by, reference];
	});
}

/** "gentle (0123…): age: level 340 instead of 240" */
export function criteriaOfRecord({ criteria }: AcceptanceRecord): string {
	if (criteria === null) return 'Criteria: no run was judged.';
	const differ = criteria.differsFromStandard;
	return `Criteria: ${criteria.name} (${criteria.hash}); ${differ.length === 0 ? 'nothing differs from standard' : `differs from standard: ${differ.join('; ')}`}.`;
}

export function earlierWords(runs: readonly string[]): string {
	return runs.length === 0
		? 'No other run of this kit is kept from before.'
		: `Kept from before its return, and not its reference: ${runs.join('; ')}.`;
}

/** Says so too where there is none, so that a year later nobody wonders. */
export function notEnteredWords(runs: readonly string[]): string {
	return runs.length === 0
		? 'No run since then is left unentered.'
		: `Runs since then that are entered for no kit, and may have been attempts too: ${runs.join('; ')}.`;
}
