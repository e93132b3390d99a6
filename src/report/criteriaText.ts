/** The built-in criteria in words for a terminal, and a set of criteria as the file that states it. */
import { type Criteria, criteriaHash, differsFromStandard } from '../verdict/criteria.ts';
import { bullet, cleanText, type Glyphs } from './textLayout.ts';

type Presets = ReadonlyMap<string, { readonly criteria: Criteria; readonly reasoning: readonly string[] }>;

export function renderPresets(
	presets: Presets,
	page: { readonly columns: number; readonly glyphs: Glyphs },
): string {
	const item = (text: string): string[] => bullet('- ', cleanText(text, page.glyphs), page.columns);
	const lines = [...presets].flatMap(([name, { criteria, reasoning }]) => [
		`${name}  (${criteriaHash(criteria)})`,
		...reasoning.flatMap(item),
		...differsFromStandard(criteria).flatMap(item),
		'',
	]);
	return [...lines, 'The half-second line is the same in all of them and cannot be moved.', ''].join('\n');
}

/** A criteria file that `parseCriteria` reads back as the same criteria: every number written out. */
export function renderCriteriaFile(criteria: Criteria): string {
	const lines = Object.fromEntries(
		criteria.lines
			.filter(({ id }) => id !== 'half-second' && id !== 'orientation')
			.map(({ id, level, limit, limitLong, source }) => [
				id,
				{
					...(MOVABLE.has(id) ? { level } : {}),
					limit,
					...(limitLong === null ? {} : { limitLong }),
					source,
				},
			]),
	);
	const file = { format: 'steerworthy-criteria', version: 1, name: criteria.name, lines };
	return `${JSON.stringify(file, null, '\t')}\n`;
}
/** Lines whose level a file may move; the others' is their definition. */
const MOVABLE: ReadonlySet<string> = new Set(['age', 'delay', 'rate', 'moving-record']);
