/** What a device without a ticket sees: why, and what to do. Plain HTML without script, style within, nothing from elsewhere. */

type Reason = 'noTicket' | 'wrong' | 'old' | 'tooMany';
const WORDS: Readonly<Record<Reason, readonly [happened: string, advice: string]>> = {
	noTicket: [
		'This laptop shows its picture only to a device that was let in.',
		'Scan the square code on the laptop’s screen, or type the code that stands beside it.',
	],
	wrong: [
		'That is not the code on the laptop’s screen.',
		'Look again and type it as it stands there now; small or large letters do not matter.',
	],
	old: [
		'That code was good once. Each lets one device in, and for ten minutes at most.',
		'Scan or type the code that the laptop shows now.',
	],
	tooMany: ['Too many wrong codes came in the last minute.', 'Wait a minute, then scan the code again.'],
};

export function refusalPage(reason: Reason): string {
	const [happened, advice] = WORDS[reason];
	return page(happened, `<p>${advice}</p>${reason === 'tooMany' ? '' : FORM}`);
}

export function codeForm(): string {
	return page('The code on the laptop’s screen', FORM);
}

const FORM = `<form action="/pair" method="get"><label for="code">Code</label>
<input id="code" name="code" autocomplete="off" autocapitalize="characters" spellcheck="false" maxlength="20" required>
<button>Go in</button></form>`;

function page(title: string, body: string): string {
	return `<!doctype html><html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>steerworthy: not let in yet</title>
<link rel="icon" href="data:,"><style>
body { margin: 0 auto; max-width: 36rem; padding: 1.2rem; font: 20px/1.5 system-ui, sans-serif; color: #242220; background: #f8f3e8; }
h1 { font-size: 1.6rem; line-height: 1.2; } label { display: block; margin-top: 1rem; }
input, button { font: inherit; min-height: 56px; width: 100%; padding: 0.4rem 0.8rem; border: 3px solid #0b4f54; border-radius: 6px; box-sizing: border-box; }
input { background: #fffdf8; letter-spacing: 0.2em; text-transform: uppercase; } button { margin-top: 0.8rem; background: #0b4f54; color: #fff; }
</style></head><body><main><h1>${title}</h1>${body}</main></body></html>`;
}
