/**
 * A criteria file: JSON that states what differs from the standard, line by line.
 *
 *     { "format": "steerworthy-criteria", "version": 1, "name": "our yard",
 *       "lines": { "age": { "level": 200 }, "freezes": { "limit": 0.4, "source": "our own log" } } }
 *
 * Lines and keys not named keep the standard's. A line whose numbers are changed should say whence: its source becomes
 * the file's own words, or "this file's own, no source given". The half-second line is binding and may not be touched.
 */
import { z } from 'zod';
import { OutsideFailure } from '../failure.ts';
import { type Criteria, criteriaHash, lineOf, standardCriteria } from './criteria.ts';
import { type CriteriaLine, LINE_IDS, type LineId } from './criteriaLine.ts';
import { refuseNewer } from './fileVersion.ts';
import { JsonMistake, type JsonWithLines, parseJsonLines } from './jsonLines.ts';
import { presets } from './presets.ts';

const FORMAT = 'steerworthy-criteria';
const VERSION = 1;
const BINDING: LineId = 'half-second';
/** The lines whose level the metrics can count at another place; the others are fixed by their definition. */
const LEVEL_MOVES: readonly LineId[] = ['age', 'delay', 'rate', 'moving-record'];
const OWN_SOURCE = 'this file’s own, no source given';

const lineSchemas = Object.fromEntries(
	standardCriteria.lines
		.filter(({ id }) => id !== BINDING)
		.map((line) => [line.id, changesTo(line).optional()]),
);

const fileSchema = z.strictObject({
	format: z.literal(FORMAT),
	version: z.literal(VERSION),
	name: z.string().trim().min(1).max(80),
	lines: z.strictObject({ ...lineSchemas, [BINDING]: z.unknown().optional() }).optional(),
});

type Changes = Partial<Pick<CriteriaLine, 'level' | 'limit' | 'limitLong' | 'comfort' | 'source'>>;

/**
 * The criteria that a file's text states. Throws `OutsideFailure`: `criteriaFileWrong`, which points at the line and the
 * key and says what is allowed there; `fileNewer` for a later version's; `halfSecondMoved` when the file touches the binding line.
 */
export function parseCriteria(text: string, fileName: string): Criteria {
	const json = readJson(text, fileName);
	refuseNewer(json.value, { fileName, format: FORMAT, version: VERSION });
	refuseBinding(json, fileName);
	const parsed = fileSchema.safeParse(json.value);
	if (!parsed.success) throw wrong(parsed.error.issues[0], json, fileName);
	const changes: Readonly<Record<string, unknown>> = parsed.data.lines ?? {};
	const criteria = {
		name: parsed.data.name,
		lines: standardCriteria.lines.map((line) => changed(line, changesOf(changes[line.id]))),
	};
	refuseBorrowedName(criteria, json, fileName);
	return criteria;
}

/** A report names its criteria: what is called "standard" there must be it. */
function refuseBorrowedName(criteria: Criteria, { lineOf: placeOf }: JsonWithLines, fileName: string): void {
	const builtIn = presets.get(criteria.name.toLowerCase());
	if (builtIn === undefined || criteriaHash(builtIn.criteria) === criteriaHash(criteria)) return;
	throw new OutsideFailure(
		'criteriaFileWrong',
		`${fileName}, line ${placeOf(['name'])}: "name" is that of a built-in set, and these are not its numbers.`,
		`Allowed: any other name than ${[...presets.keys()].join(', ')}.`,
	);
}

/** JSON Schema (2020-12) of a criteria file, made from the schema above. */
export function criteriaFileJsonSchema(): Record<string, unknown> {
	return { ...z.toJSONSchema(fileSchema) };
}

/** The keys that a file may change of that line; none of the binding one. */
export function changeableKeys(line: CriteriaLine): (keyof Changes)[] {
	if (line.id === BINDING) return [];
	const keys = Object.keys(changesTo(line).shape);
	return (['level', 'limit', 'limitLong', 'comfort', 'source'] as const).filter((key) => keys.includes(key));
}

/** What a file may say of that line: only numbers that the line has, in the range that its unit allows. */
function changesTo(line: CriteriaLine) {
	const limit = limitSchema(line);
	return z.strictObject({
		...(LEVEL_MOVES.includes(line.id) ? { level: z.number().positive().max(10_000).optional() } : {}),
		...(line.limit === null ? {} : { limit: limit.optional(), comfort: z.number().positive().optional() }),
		...(line.limitLong === null ? {} : { limitLong: limit.optional() }),
		/** May be written down, but not turned round: a limit in the wrong direction would call the worst kit fit. */
		direction: z.literal(line.direction).optional(),
		source: z.string().trim().min(1).max(300).optional(),
	});
}

function limitSchema({ unit }: CriteriaLine) {
	return unit === 'ratio' ? z.number().gt(0).lt(1) : z.number().positive().max(10_000);
}

/** The schema has let through nothing but these keys. */
function changesOf(value: unknown): Changes {
	if (typeof value !== 'object' || value === null) return {};
	const { direction: _direction, ...changes } = value as Changes & { direction?: unknown };
	return changes;
}

function changed(line: CriteriaLine, changes: Changes): CriteriaLine {
	const moved = (['level', 'limit', 'limitLong', 'comfort'] as const).some(
		(key) => changes[key] !== undefined && changes[key] !== line[key],
	);
	if (!moved) return { ...line, source: changes.source ?? line.source };
	const { limit } = changes;
	// A stricter limit binds the long profile too, unless the file gives that one its own.
	const limitLong =
		line.limitLong === null || limit === undefined || limit === null
			? line.limitLong
			: Math.min(limit, line.limitLong);
	return { ...line, limitLong, ...changes, source: changes.source ?? OWN_SOURCE, strength: 'the file’s own' };
}

function readJson(text: string, fileName: string): JsonWithLines {
	try {
		return parseJsonLines(text.replace(/^\uFEFF/, ''));
	} catch (error) {
		if (!(error instanceof JsonMistake)) throw error;
		throw new OutsideFailure(
			'criteriaFileWrong',
			`${fileName}, line ${error.line}: this is not JSON as a criteria file needs it.`,
			`Expected here: ${error.message}.`,
		);
	}
}

function refuseBinding({ value, lineOf: placeOf }: JsonWithLines, fileName: string): void {
	const touched = member(member(value, 'lines'), BINDING);
	if (touched === undefined || saysTheSame(touched)) return;
	throw new OutsideFailure(
		'halfSecondMoved',
		`${fileName}, line ${placeOf(['lines', BINDING])}: the line "${BINDING}" is binding and cannot be moved, weakened or removed.`,
		`Take "${BINDING}" out of the file; it holds in every criteria file as it stands.`,
	);
}

/** Writing the binding line down as it stands is no harm. */
function saysTheSame(touched: unknown): boolean {
	if (typeof touched !== 'object' || touched === null || Array.isArray(touched)) return false;
	const { level, limit, direction } = lineOf(standardCriteria, BINDING);
	const standard = { level, limit, direction };
	return Object.entries(touched).every(([key, value]) => value === member(standard, key));
}

function member(value: unknown, key: string): unknown {
	if (typeof value !== 'object' || value === null || !Object.hasOwn(value, key)) return undefined;
	return Reflect.get(value, key);
}

type Issue = z.core.$ZodIssue | undefined;

function wrong(issue: Issue, { value, lineOf: placeOf }: JsonWithLines, fileName: string): OutsideFailure {
	const unknownKey = issue?.code === 'unrecognized_keys' ? issue.keys[0] : undefined;
	const path = [...(issue?.path ?? []), ...(unknownKey === undefined ? [] : [unknownKey])];
	const key = path.map(String).join('.') || 'the file';
	const missing = issue?.code === 'invalid_value' || issue?.code === 'invalid_type';
	const absent = missing && path.length > 0 && at(value, path) === undefined;
	const what =
		unknownKey === undefined ? `"${key}" is ${absent ? 'missing' : 'wrong'}` : `unknown key "${key}"`;
	return new OutsideFailure(
		'criteriaFileWrong',
		`${fileName}, line ${placeOf(path)}: ${what}.`,
		`Allowed: ${allowedAt(path, unknownKey !== undefined, issue)}.`,
	);
}

function at(value: unknown, path: readonly PropertyKey[]): unknown {
	return path.reduce<unknown>((inner, key) => member(inner, String(key)), value);
}

function allowedAt(path: readonly PropertyKey[], unknownKey: boolean, issue: Issue): string {
	const [top, id, key] = path.map(String);
	if (top !== 'lines') return topAllowed(unknownKey ? undefined : top);
	const line = standardCriteria.lines.find((candidate) => candidate.id === id);
	if (line === undefined) return `the lines ${LINE_IDS.filter((known) => known !== BINDING).join(', ')}`;
	if (unknownKey || key === undefined)
		return `{ } with the keys ${Object.keys(changesTo(line).shape).join(', ')}`;
	if (key === 'direction') return `"${line.direction}", the direction of this line, or nothing`;
	if (key === 'source') return 'a text of up to 300 characters';
	if (key.startsWith('limit') && line.unit === 'ratio') return 'a share above 0 and under 1 (5 % is 0.05)';
	return issue?.code === 'too_big' ? 'a number up to 10000' : 'a number above 0, up to 10000';
}

function topAllowed(key: string | undefined): string {
	if (key === 'format') return `"${FORMAT}"`;
	if (key === 'version') return String(VERSION);
	if (key === 'name') return 'a text of 1 to 80 characters';
	return 'one object with the keys format, version, name, lines';
}
