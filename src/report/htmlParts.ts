/**
 * Small pieces of HTML. Everything that a run, a kit or a person may have named is escaped by the `html` tag; what was
 * made here travels as an object, so that no string from outside can be taken for markup, at run time either.
 */
export type SafePiece = { readonly markup: string };

/** For text and for attribute values in quotes; control characters and direction overrides become spaces. */
function escapeHtml(text: string): string {
	return text
		.replace(/[\p{Cc}\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]+/gu, ' ')
		.replace(/&/g, '&amp;')
		.replace(/</g, '&lt;')
		.replace(/>/g, '&gt;')
		.replace(/"/g, '&quot;')
		.replace(/'/g, '&#39;');
}

/** Template tag: every value is escaped, except pieces that this file made. */
export function html(
	strings: TemplateStringsArray,
	...values: readonly (SafePiece | string | number)[]
): SafePiece {
	return { markup: strings.reduce((out, part, i) => out + pieceText(values[i - 1] ?? '') + part) };
}

function pieceText(value: SafePiece | string | number): string {
	return typeof value === 'object' ? value.markup : escapeHtml(String(value));
}

export function joinHtml(pieces: readonly SafePiece[]): SafePiece {
	return { markup: pieces.map((piece) => piece.markup).join('\n') };
}

export const nothing: SafePiece = { markup: '' };

/** Script text inside an element: a closing tag or a comment opener in it must not end or swallow the element. */
export function scriptElement(source: string): SafePiece {
	const safe = source.replace(/<(?=\/script|!--)/gi, '\\x3C');
	return { markup: `<script>${safe}</script>` };
}

/** Data for the page's own script; every `<` is written as an escape, so no markup can begin. */
export function dataElement(id: string, data: unknown): SafePiece {
	const text = JSON.stringify(data).replace(/</g, '\\u003c');
	return { markup: `<script type="application/json" id="${escapeHtml(id)}">${text}</script>` };
}

/** The page's own style sheet; not for foreign text. */
export function styleElement(css: string): SafePiece {
	return { markup: `<style>${css}</style>` };
}

export function section(id: string, title: string, body: readonly SafePiece[]): SafePiece {
	return html`<section id="${id}" aria-labelledby="${id}-title">
<h2 id="${id}-title">${title}</h2>
${joinHtml(body)}
</section>`;
}

export function paragraph(text: string, className = 'plain'): SafePiece {
	return html`<p class="${className}">${text}</p>`;
}

export function bulletList(items: readonly string[]): SafePiece {
	return html`<ul>${joinHtml(items.map((item) => html`<li>${item}</li>`))}</ul>`;
}

/** Terms and what they are, in two columns where there is room. */
export function termList(rows: readonly (readonly [term: string, detail: string])[]): SafePiece {
	return html`<dl>${joinHtml(rows.map(([term, detail]) => html`<div><dt>${term}</dt><dd>${detail}</dd></div>`))}</dl>`;
}

type TableColumn = { readonly title: string; readonly numeric?: boolean };

/** A table that folds into labelled blocks on a narrow screen: each cell carries its column's title. */
export function table(
	caption: string,
	columns: readonly TableColumn[],
	rows: readonly (readonly (string | SafePiece)[])[],
): SafePiece {
	const head = joinHtml(columns.map((c) => html`<th scope="col" class="${kindOf(c)}">${c.title}</th>`));
	const body = joinHtml(
		rows.map((row) => {
			const cells = columns.map((column, i) => tableCell(column, row[i] ?? '', i === 0));
			return html`<tr>${joinHtml(cells)}</tr>`;
		}),
	);
	return html`<table><caption>${caption}</caption><thead><tr>${head}</tr></thead><tbody>${body}</tbody></table>`;
}

function tableCell(column: TableColumn, value: string | SafePiece, first: boolean): SafePiece {
	if (first) return html`<th scope="row">${value}</th>`;
	return html`<td class="${kindOf(column)}" data-title="${column.title}">${value}</td>`;
}

function kindOf(column: TableColumn): string {
	return column.numeric ? 'number' : 'words';
}
