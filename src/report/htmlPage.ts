/**
 * A page of paper that needs nothing from outside and runs no script: comparisons, acceptance records, sheets, covers. The console's
 * pages of the register are made of it too; they alone may name a script, of their own server.
 */
import { html, joinHtml, nothing, type SafePiece, styleElement } from './htmlParts.ts';
import { PAGE_STYLE } from './style.ts';

const POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; media-src 'self'";
const SCRIPT_POLICY = "; script-src 'self'; connect-src 'self'; form-action 'self'";
const FORM_STYLE = `
.write { display: inline-block; min-width: 14rem; border-bottom: 1px solid var(--ink); }
.box { display: inline-block; width: 1.1em; height: 1.1em; border: 2px solid var(--ink); vertical-align: -0.15em; }
svg.dots { display: block; width: 100%; height: auto; background: var(--sheet); border: 1px solid var(--rule); }
svg.dots text { font: 14px system-ui, sans-serif; fill: var(--ink); }
.frame dl { margin-top: 0.4rem; }
`;

type Page = {
	readonly title: string;
	/** Beside the name of the tool, at the top. */
	readonly masthead: readonly string[];
	readonly body: readonly SafePiece[];
	/** Path of a script on the page's own server; none: no script may run. */
	readonly script?: string;
	/** More of the page's own style. */
	readonly style?: string;
};

export function renderPage({ title, masthead, body, script, style = '' }: Page): string {
	const policy = script === undefined ? POLICY : POLICY + SCRIPT_POLICY;
	const scripted = script === undefined ? nothing : html`<script src="${script}" defer></script>`;
	const page = html`<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${title}</title>
${styleElement(PAGE_STYLE + FORM_STYLE + style)}
${scripted}
</head>
<body>
<header class="masthead"><strong>steerworthy</strong>${joinHtml(masthead.map((words) => html`<span>${words}</span>`))}</header>
<main>
${joinHtml(body)}
</main>
</body>
</html>`;
	return `<!doctype html>\n${page.markup}\n`;
}
