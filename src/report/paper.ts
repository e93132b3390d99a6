/** Lines for a terminal of a given width: titles, items, paragraphs, each cleaned of what no terminal should get. */
import { bullet, cleanText, type Glyphs, wrapText } from './textLayout.ts';

export type Page = { readonly columns: number; readonly glyphs: Glyphs };

export function clean(text: string, { glyphs }: Page): string {
	return cleanText(text, glyphs);
}

export function title(text: string, page: Page): string[] {
	return ['', ...paragraphLines(text.toUpperCase(), page)];
}

export function item(text: string, page: Page, mark = '- '): string[] {
	return bullet(mark, clean(text, page), page.columns);
}

export function paragraphLines(text: string, page: Page): string[] {
	return wrapText(clean(text, page), page.columns);
}
