/** The result document as one JSON text, figures unrounded, indented with tabs so that two runs can be compared by line. */
import type { ResultDocument } from '../verdict/resultDocument.ts';

export function renderJson(result: ResultDocument): string {
	return `${JSON.stringify(result, null, '\t')}\n`;
}
