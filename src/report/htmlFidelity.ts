/**
 * How true the picture is, as a section of the page: one question a row, answered in plain words, its exact figure beside it.
 * The lines that are left are drawn as strokes of their own width, full where seen, broken where not. Computes no figure.
 */
import type { Fidelity } from '../metrics/pictureMetric.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import type { FidelityRow } from './fidelityRow.ts';
import { fidelityRows } from './fidelityRows.ts';
import { html, joinHtml, nothing, paragraph, type SafePiece, section, table } from './htmlParts.ts';
import { formatNumber, formatShare, formatTrimmed } from './numbers.ts';
import { isOfOne, referenceName, referenceRows, slowedRows } from './referenceRows.ts';

/** Nothing where no picture's detail was read. */
export function fidelityPart({ metrics }: ResultDocument): SafePiece {
	const { fidelity, sharpness } = metrics;
	if (fidelity === undefined && sharpness.kind === 'notMeasured') return nothing;
	const title = 'How true the picture is';
	if (fidelity === undefined || fidelity.kind === 'notMeasured')
		return section('fidelity', title, [paragraph(fidelity?.explanation ?? 'Only edges were read.')]);
	const rows = fidelityRows(metrics);
	return section('fidelity', title, [
		table(
			`Middle of ${formatNumber(fidelity.pictureCount)} pictures looked at closely. The right-hand column is for whoever wants it exactly.`,
			[{ title: 'asked' }, { title: 'answer' }, { title: 'exactly' }],
			rows.map((row) => [...row]),
		),
		strokes(fidelity.lines),
	]);
}

/** Every measure beside the reference run's; nothing where the run was set beside none. */
export function referencePart({ metrics }: ResultDocument): SafePiece {
	const against = metrics.againstReference;
	if (against?.kind !== 'measured') return nothing;
	const rows = referenceRows(against);
	const ofOne = rows.filter(isOfOne);
	return section('reference', 'Beside the reference', [
		paragraph(
			`The reference is ${referenceName(against)}. 100 % is the same as the reference; whether more is better depends on the measure. Two runs of one kit differ too: compare sessions to tell how far.`,
		),
		...slowedRows(against).map(([asked, said, exact]) => paragraph(`${asked} ${said} (${exact}).`)),
		besideTable(
			'Each measure that both runs hold, as they are and as a share.',
			rows.filter((row) => !isOfOne(row)),
		),
		ofOne.length === 0
			? nothing
			: html`<details><summary>Each width of line and each grey by itself</summary>${besideTable('The same, one by one.', ofOne)}</details>`,
	]);
}

function besideTable(caption: string, rows: readonly FidelityRow[]): SafePiece {
	return table(
		caption,
		[{ title: 'measure' }, { title: 'of the reference' }, { title: 'this run against the reference' }],
		rows.map((row) => [...row]),
	);
}

/** A stroke for each width, as wide as it is to the others; broken where it was not seen. */
function strokes(lines: Fidelity['lines']): SafePiece {
	if (lines.length === 0) return nothing;
	const widest = Math.max(...lines.map(({ width }) => width));
	const drawn = lines.map((line, i) => {
		const y = 16 + i * 22;
		const stroke = Math.max(1, (12 * line.width) / widest);
		const colour = line.chromaRatio === null ? '' : `, colour ${formatShare(line.chromaRatio)}`;
		const words = `${formatTrimmed(line.width)} ${line.unit} ${line.axis}: light ${formatShare(line.lumaRatio)}${colour} left`;
		return html`<path d="M0 ${y}H54" stroke="#242220" stroke-width="${stroke.toFixed(1)}" stroke-dasharray="${line.seenRatio > 0.5 ? 'none' : '3 9'}"/><text x="64" y="${y + 5}" font-size="13">${words}</text>`;
	});
	return html`<figure><svg role="img" aria-label="lines by width, broken where not seen" viewBox="0 0 400 ${lines.length * 22 + 16}" style="display:block;width:100%;max-width:400px">${joinHtml(drawn)}</svg><figcaption>Contrast left of lines by width. Broken: not seen in most pictures.</figcaption></figure>`;
}
