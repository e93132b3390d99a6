/**
 * On which line each key of a JSON text stands, for messages that point. The text has been accepted by `JSON.parse`
 * before, so this reads on trust and stays short. Keys are named as a person would write them: `outages.scheduled[1].atMs`.
 */

/** Line of each value by its path; the whole text's path is the empty string. */
export function linesOfKeys(text: string): Map<string, number> {
	const lines = new Map<string, number>();
	let at = 0;
	let line = 1;

	function skipTo(end: number): void {
		for (; at < end; at++) if (text[at] === '\n') line++;
	}

	function skipBlank(): void {
		while (at < text.length && ' \t\r\n,:'.includes(text[at]!)) skipTo(at + 1);
	}

	function readString(): string {
		let end = at + 1;
		while (text[end] !== '"') end += text[end] === '\\' ? 2 : 1;
		const value = text.slice(at, end + 1);
		skipTo(end + 1);
		return String(JSON.parse(value));
	}

	function walk(path: string): void {
		skipBlank();
		if (!lines.has(path)) lines.set(path, line);
		const opener = text[at];
		if (opener === '"') readString();
		else if (opener === '{' || opener === '[') walkMembers(path, opener);
		else while (at < text.length && !' \t\r\n,:]}'.includes(text[at]!)) at++;
	}

	function walkMembers(path: string, opener: '{' | '['): void {
		at++;
		for (let i = 0; ; i++) {
			skipBlank();
			if (at >= text.length || text[at] === '}' || text[at] === ']') break;
			const keyLine = line;
			const member =
				opener === '[' ? `${path}[${i}]` : [path, readString()].filter((part) => part !== '').join('.');
			lines.set(member, keyLine);
			walk(member);
		}
		at++;
	}

	walk('');
	return lines;
}

/** Line of a character offset, from 1. */
export function lineAt(text: string, offset: number): number {
	return text.slice(0, offset).split('\n').length;
}
