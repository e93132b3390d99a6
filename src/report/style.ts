/**
 * The look of the page: warm paper, deep teal, plum, charcoal and grey, one font stack of the system, four sizes. The line
 * of the verdict's frame carries its meaning without colour: double, single, hatched, dotted. No red, amber or green.
 */
export const PAGE_STYLE = `
:root {
	--paper: #f8f3e8; --sheet: #fffdf8; --ink: #242220; --grey: #5f5b55; --rule: #cfc7b6;
	--teal: #0b4f54; --plum: #5b2a4e;
	--small: 0.89rem; --title: 1.33rem; --huge: 2.1rem;
}
* { box-sizing: border-box; }
html { font: 18px/1.5 system-ui, sans-serif; color: var(--ink); background: var(--paper); }
body {
	margin: 0 auto; padding: 1.2rem; max-width: 84rem;
	font-variant-numeric: tabular-nums; overflow-wrap: break-word;
	print-color-adjust: exact; -webkit-print-color-adjust: exact;
}
h1, h2, h3, p, ul, dl, figure, table { margin: 0; }
h2 { font-size: var(--title); line-height: 1.25; color: var(--teal); margin-bottom: 0.6rem; }
h3 { font-size: 1rem; margin: 0.9rem 0 0.2rem; }
p + p, p + ul, ul + p, dl + p, table + p, svg + table, p + table, p + dl { margin-top: 0.6rem; }
ul { padding-left: 1.2rem; }
li + li { margin-top: 0.25rem; }
.small, caption, .because, .exact, figcaption, footer { font-size: var(--small); color: var(--grey); }
.masthead { display: flex; flex-wrap: wrap; gap: 0 1.2rem; justify-content: space-between; border-bottom: 2px solid var(--ink); padding-bottom: 0.4rem; }
.masthead strong { letter-spacing: 0.04em; }

.answer { margin-top: 1.2rem; }
.frame { background: var(--sheet); padding: 1.1rem; }
.frame-steering { border: 12px double var(--teal); }
.frame-recording { border: 4px solid var(--plum); }
.frame-unfit {
	border: 16px solid var(--ink);
	border-image: repeating-linear-gradient(135deg, var(--ink) 0 5px, var(--paper) 5px 11px) 16;
}
.frame-undetermined { border: 6px dotted var(--grey); }
.frame h1 { font-size: var(--huge); line-height: 1.12; text-wrap: balance; }
.frame .judged { font-weight: 600; margin: 0 0 0.2rem; }
.frame .order { font-weight: 600; margin-top: 0.7rem; }
.frame .invented { border: 2px dashed var(--ink); padding: 0.3rem 0.6rem; margin-bottom: 0.8rem; font-weight: 600; }
.frame dl { margin-top: 0.9rem; }
.answer > .small { margin-top: 0.6rem; }

main section { border-top: 2px solid var(--teal); margin-top: 2rem; padding-top: 0.7rem; }
dl > div { display: grid; grid-template-columns: minmax(7.5rem, 1fr) 2.2fr; gap: 0 0.8rem; padding: 0.3rem 0; border-bottom: 1px solid var(--rule); }
dt { color: var(--grey); }
dd { margin: 0; min-width: 0; overflow-wrap: anywhere; }

table { width: 100%; border-collapse: collapse; }
caption { text-align: left; padding-bottom: 0.3rem; }
th, td, dt, h1, li, p { min-width: 0; }
th, td { text-align: left; vertical-align: top; padding: 0.4rem 0.6rem 0.4rem 0; border-bottom: 1px solid var(--rule); font-weight: 400; }
thead th { font-size: var(--small); color: var(--grey); border-bottom: 2px solid var(--ink); vertical-align: bottom; }
.number { text-align: right; white-space: nowrap; }
tbody th { min-width: 9rem; }
#lines tbody th { width: 52%; }
.because, .exact { display: block; font-weight: 400; }
.state { display: inline-block; padding: 0.05rem 0.45rem; border: 2px solid transparent; color: var(--ink); }
.state-met { border-color: var(--teal); }
.state-notMet { border: 2px solid var(--ink); background: repeating-linear-gradient(135deg, #d9d2c4 0 3px, var(--sheet) 3px 8px); font-weight: 700; }
.state-undecided { border: 3px dotted var(--grey); }
.state-notMeasured, .state-informs { color: var(--grey); padding-left: 0; }

figure.chart { margin-top: 1rem; break-inside: avoid; }
.plot { position: relative; height: 340px; background: var(--sheet); border: 1px solid var(--rule); padding: 0.4rem; }
.plot .unscripted { position: absolute; inset: 0; display: grid; place-items: center; padding: 1rem; text-align: center; }
.plot.drawn .unscripted { display: none; }
figure.picture img { max-width: 100%; height: auto; border: 1px solid var(--ink); image-rendering: pixelated; }
figure.picture { margin-top: 0.8rem; break-inside: avoid; }
.keys { list-style: none; padding: 0.3rem 0; display: flex; flex-wrap: wrap; gap: 0 1.4rem; }
.keys li { margin: 0; }
.keys svg { width: 44px; height: 14px; vertical-align: middle; margin-right: 0.4rem; }
summary { min-height: 48px; padding: 0.7rem 0; color: var(--teal); font-weight: 600; }
svg.bar { display: block; width: 100%; height: 64px; border: 2px solid var(--ink); background: #fff; }
svg.swatch { display: inline-block; width: 84px; height: 34px; vertical-align: middle; }
svg.key { width: 34px; height: 20px; vertical-align: middle; margin-right: 0.5rem; border: 1px solid var(--ink); }
.warning { border-left: 6px dotted var(--plum); padding: 0.1rem 0 0.1rem 0.8rem; }
.warning + .warning { margin-top: 0.8rem; }
code { font: inherit; font-weight: 600; background: #ece5d5; padding: 0.05rem 0.35rem; }
footer { margin-top: 2rem; border-top: 2px solid var(--ink); padding-top: 0.5rem; }

@media screen and (min-width: 1080px) {
	:root { --huge: 1.75rem; }
	.sheet { display: grid; grid-template-columns: 24rem minmax(0, 1fr); gap: 2.4rem; align-items: start; }
	.answer { position: sticky; top: 1rem; max-height: calc(100vh - 2rem); overflow-y: auto; }
	main section:first-child { margin-top: 1.2rem; }
}
@media screen and (max-width: 760px) {
	html { font-size: 17px; }
	body { padding: 0.7rem; }
	:root { --huge: 1.8rem; }
	dl > div { grid-template-columns: 1fr; }
	thead { position: absolute; clip-path: inset(50%); height: 1px; overflow: hidden; white-space: nowrap; }
	table, caption, tbody, tr, th, td { display: block; }
	tbody tr { border-bottom: 2px solid var(--rule); padding: 0.5rem 0; }
	tbody th { font-weight: 600; }
	th, td, .number { border: 0; text-align: left; white-space: normal; padding: 0.1rem 0; }
	td[data-title]::before { content: attr(data-title) ": "; color: var(--grey); font-size: var(--small); }
	td:empty { display: none; }
	#figures td::before, #sources td::before { content: none; }
	#lines tbody th { width: auto; }
	.plot { height: 300px; padding: 0; }
}
@media print {
	@page { size: A4; margin: 14mm 13mm; }
	:root { --paper: #fff; --sheet: #fff; --ink: #000; --grey: #333; --rule: #999; --teal: #000; --plum: #000; }
	html { font-size: 10pt; }
	summary { display: none; }
	body { padding: 0; max-width: none; }
	.sheet { display: block; }
	.answer { position: static; }
	main section { margin-top: 1.1rem; }
	h2, h3, caption { break-after: avoid; }
	tr, dl > div, li, .warning, .frame { break-inside: avoid; }
	.plot { height: 74mm; }
	.plot canvas { width: 100% !important; height: 100% !important; filter: grayscale(1) contrast(1.15); }
}
`;
