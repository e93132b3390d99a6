/** The built-in criteria in words for a terminal, and a set of criteria as the file that states it. */
import { type Criteria, criteriaHash, differsFromStandard } from '../verdict/criteria.ts';
import { item, type Page } from './paper.ts';

type Presets = ReadonlyMap<string, { readonly criteria: Criteria; readonly reasoning: readonly string[] }>;

export function renderPresets(presets: Presets, page: Page): string {
	const lines = [...presets].flatMap(([name, { criteria, reasoning }]) => [
		`${name}  (${criteriaHash(criteria)})`,
		...reasoning.flatMap((text) => item(text, page)),
		...differsFromStandard(criteria).flatMap((text) => item(text, page)),
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
