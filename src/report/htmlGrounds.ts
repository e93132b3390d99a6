/** What the answer rests on: uncertainty, the bench's own delay, warnings, cautions, methods, sources, versions. */
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { CAUTIONS } from './cautions.ts';
import { budgetRows, budgetWords, harnessRows } from './facts.ts';
import { bulletList, html, paragraph, type SafePiece, section, table, termList } from './htmlParts.ts';
import { LIMIT_SOURCES, METHODS, type SourceNote } from './sources.ts';

export function budgetPart(result: ResultDocument): SafePiece {
	const rows = budgetRows(result.run.systematics).map((row) => [
		row.name,
		row.halfWidth,
		row.shape,
		row.source,
	]);
	const body =
		rows.length === 0
			? paragraph('The rig names no error that is one draw for the whole run.')
			: table(
					'Errors that are one and the same for the whole run, each by its half-width.',
					[
						{ title: 'what' },
						{ title: 'half-width', numeric: true },
						{ title: 'shape' },
						{ title: 'whence' },
					],
					rows,
				);
	return section('uncertainty', 'How sure: the uncertainty budget', [
		body,
		...budgetWords(result).map((words) => paragraph(words)),
	]);
}

export function harnessPart({ metrics }: ResultDocument): SafePiece {
	return section('harness', 'This computer’s own delay', [
		termList(harnessRows(metrics.harness)),
		paragraph(
			'Shown beside the result and never subtracted from it (harness floor, lateness and load).',
			'small',
		),
	]);
}

export function warningsPart({ warnings }: ResultDocument): SafePiece {
	if (warnings.length === 0) return section('warnings', 'Warnings and notes', [paragraph('None.')]);
	const items = warnings.map(
		({ code, seen, advice }) =>
			html`<div class="warning"><p>${seen}</p><p><strong>${advice}</strong></p><p class="small">${code}</p></div>`,
	);
	return section('warnings', 'Warnings and notes', items);
}

export function cautionsPart(): SafePiece {
	const groups = CAUTIONS.map(({ title, lines }) => html`<h3>${title}</h3>${bulletList(lines)}`);
	return section('cautions', 'Cautions', groups);
}

export function sourcesPart(): SafePiece {
	return section('sources', 'Methods and sources', [
		sourceTable('How the figures are made.', METHODS),
		sourceTable(
			'Where the limits come from. What is quoted from memory was not checked against its source.',
			LIMIT_SOURCES,
		),
	]);
}

function sourceTable(caption: string, notes: readonly SourceNote[]): SafePiece {
	return table(
		caption,
		[{ title: 'about' }, { title: 'what' }, { title: 'basis' }],
		notes.map((note) => [note.about, note.text, note.basis]),
	);
}

export function againPart(result: ResultDocument): SafePiece {
	const { run, toolVersion, format, version, criteriaSet, verdict } = result;
	return section('again', 'Versions, and how to make it again', [
		html`<p>On the run’s folder: <code>steerworthy judge ${run.id}</code>. The same figures come out, after rounding to the stated decimals.</p>`,
		termList([
			['tool', `steerworthy ${toolVersion}`],
			['result', `${format}, version ${version}`],
			['criteria', `${criteriaSet.name}, fingerprint ${verdict.criteria.hash}`],
			['run ended by', run.endedBy ?? 'the file does not say'],
			['wait for a picture', `one not seen within ${run.lostAfterMs} ms counts as lost`],
		]),
	]);
}
