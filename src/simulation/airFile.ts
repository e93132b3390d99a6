/**
 * A simulated air from a person's JSON file. Every mistake points at its line and key and says what is allowed.
 * Only `delayMs` must be there; what is left out does not happen.
 */
import { OutsideFailure } from '../failure.ts';
import { type AirSpec, stillAir } from './airSpec.ts';
import { lineAt, linesOfKeys } from './jsonPlaces.ts';

/** Says what is wrong with a value and what is allowed, or null when it is right. */
type Check = { readonly allowed: string; readonly holds: (value: unknown) => boolean };
type Field =
	| { readonly check: Check; readonly or?: unknown }
	| { readonly fields: Fields; readonly or?: unknown }
	| { readonly list: Fields; readonly or?: unknown };
type Fields = { readonly [key: string]: Field };

const ms = number('a number of milliseconds, zero or more', (n) => n >= 0);
const positiveMs = number('a number of milliseconds above zero', (n) => n > 0);
const chance = number('a number from 0 to 1', (n) => n >= 0 && n <= 1);
const chanceAbove0 = number('a number above 0, at most 1', (n) => n > 0 && n <= 1);

const SPREADS: { readonly [kind: string]: Fields } = {
	constant: { ms: { check: ms } },
	uniform: { fromMs: { check: ms }, toMs: { check: ms } },
	normal: { meanMs: { check: ms }, sdMs: { check: ms } },
	lognormal: {
		medianMs: { check: positiveMs },
		sigma: { check: number('a number from 0 to 3', (n) => n >= 0 && n <= 3) },
	},
	gamma: { shape: { check: number('a number above 0', (n) => n > 0) }, scaleMs: { check: positiveMs } },
};

const FIELDS: Fields = {
	name: {
		check: { allowed: 'a name in words', holds: (value) => typeof value === 'string' && value !== '' },
		or: null,
	},
	delayMs: { check: ms },
	spread: {
		check: { allowed: `an object with a kind: ${Object.keys(SPREADS).join(', ')}`, holds: isSpread },
		or: stillAir.spread,
	},
	keepOrder: { check: oneOf(true, false), or: stillAir.keepOrder },
	loss: {
		fields: {
			p: { check: chance },
			r: { check: chanceAbove0 },
			k: { check: chance, or: 1 },
			h: { check: chance, or: 0 },
		},
		or: stillAir.loss,
	},
	rate: {
		fields: {
			kbitPerSecond: { check: number('a number above 0', (n) => n > 0) },
			queueMs: { check: positiveMs, or: null },
			queueBytes: { check: number('a number of bytes above 0', (n) => n > 0), or: null },
		},
		or: stillAir.rate,
	},
	outages: {
		fields: {
			scheduled: { list: { atMs: { check: ms }, lengthMs: { check: positiveMs } }, or: [] },
			random: { fields: { meanEveryMs: { check: positiveMs }, lengthMs: { check: positiveMs } }, or: null },
			packets: { check: oneOf('held', 'dropped'), or: 'held' },
		},
		or: stillAir.outages,
	},
	bursts: { fields: { everyMs: { check: positiveMs } }, or: stillAir.bursts },
	periodic: {
		fields: {
			everyMs: { check: positiveMs },
			lengthMs: { check: positiveMs },
			phaseMs: { check: ms, or: 0 },
			extraMs: { check: ms, or: null },
		},
		or: stillAir.periodic,
	},
	badSpells: {
		fields: {
			goodMeanMs: { check: positiveMs },
			badMeanMs: { check: positiveMs },
			extraMs: { check: ms, or: 0 },
			lossRatio: { check: chance, or: 0 },
		},
		or: stillAir.badSpells,
	},
	carriage: { check: oneOf('datagrams', 'stream'), or: stillAir.carriage },
	retransmitMs: { check: ms, or: stillAir.retransmitMs },
};

/** The air that a file describes. Throws `OutsideFailure` `airFileWrong` with file, line, key and what is allowed. */
export function parseAirSpec(text: string, fileName: string): AirSpec {
	const value = parseJson(text, fileName);
	const lines = linesOfKeys(text);
	const fail = (key: string, seen: string, allowed: string): never => {
		// A key that is missing has no line: its nearest parent's is given.
		let path = key;
		while (!lines.has(path)) path = path.slice(0, Math.max(0, path.lastIndexOf('.')));
		throw airWrong(`${fileName}, line ${lines.get(path) ?? 1}, key "${key}": ${seen}`, allowed);
	};
	const spec = readFields(value, FIELDS, { path: '', fail });
	if (spec['name'] === null) spec['name'] = fileName;
	const { periodic, spread } = spec as AirSpec; // Every field was checked against its row above.
	if (periodic !== null && periodic.lengthMs >= periodic.everyMs)
		fail(
			'periodic.lengthMs',
			`${periodic.lengthMs} fills the whole period`,
			`less than everyMs, ${periodic.everyMs}`,
		);
	if (spread?.kind === 'uniform' && spread.toMs < spread.fromMs)
		fail('spread.toMs', `${spread.toMs} lies below fromMs`, `at least fromMs, ${spread.fromMs}`);
	return spec as AirSpec;
}

type Where = { readonly path: string; readonly fail: (key: string, seen: string, allowed: string) => never };

function readFields(value: unknown, fields: Fields, { path, fail }: Where): Record<string, unknown> {
	if (!isObject(value))
		return fail(path, `${shown(value)} is not an object`, `an object with ${Object.keys(fields).join(', ')}`);
	for (const key of Object.keys(value))
		if (!Object.hasOwn(fields, key)) fail(join(path, key), 'unknown key', Object.keys(fields).join(', '));
	const read: Record<string, unknown> = {};
	for (const [key, field] of Object.entries(fields)) {
		const at = join(path, key);
		if (value[key] === undefined || (value[key] === null && field.or === null)) {
			if (!('or' in field)) fail(at, 'is missing', allowedOf(field));
			read[key] = field.or;
		} else read[key] = readField(value[key], field, { path: at, fail });
	}
	return read;
}

function readField(value: unknown, field: Field, where: Where): unknown {
	const { path, fail } = where;
	if ('fields' in field) return readFields(value, field.fields, where);
	if ('list' in field) {
		if (!Array.isArray(value)) return fail(path, `${shown(value)} is not a list`, allowedOf(field));
		return value.map((item: unknown, i) => readFields(item, field.list, { path: `${path}[${i}]`, fail }));
	}
	if (!field.check.holds(value)) fail(path, `${shown(value)} is not allowed`, field.check.allowed);
	if (!isSpread(value)) return value;
	return readFields(value, { kind: { check: oneOf(value.kind) }, ...SPREADS[value.kind] }, where);
}

function parseJson(text: string, fileName: string): unknown {
	try {
		return JSON.parse(text);
	} catch (error) {
		const offset = /position (\d+)/.exec(error instanceof Error ? error.message : '')?.[1];
		const line = offset === undefined ? lineAt(text, text.length) : lineAt(text, Number(offset));
		throw airWrong(
			`${fileName}, line ${line}: not JSON`,
			'keys and words in double quotes, commas between, none at the end',
		);
	}
}

function airWrong(seen: string, allowed: string): OutsideFailure {
	return new OutsideFailure(
		'airFileWrong',
		`The air file is not right. ${seen}.`,
		`Allowed there: ${allowed}.`,
	);
}

function allowedOf(field: Field): string {
	if ('check' in field) return field.check.allowed;
	if ('list' in field) return `a list of objects with ${Object.keys(field.list).join(', ')}`;
	return `an object with ${Object.keys(field.fields).join(', ')}`;
}

function number(allowed: string, holds: (n: number) => boolean): Check {
	return { allowed, holds: (value) => typeof value === 'number' && Number.isFinite(value) && holds(value) };
}

function oneOf(...values: readonly (string | boolean)[]): Check {
	return {
		allowed: values.map((value) => JSON.stringify(value)).join(' or '),
		holds: (value) => values.some((v) => v === value),
	};
}

function isSpread(value: unknown): value is { kind: string } {
	return isObject(value) && typeof value['kind'] === 'string' && Object.hasOwn(SPREADS, value['kind']);
}

function isObject(value: unknown): value is Record<string, unknown> {
	return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function join(path: string, key: string): string {
	return path === '' ? key : `${path}.${key}`;
}

function shown(value: unknown): string {
	return JSON.stringify(value).slice(0, 60);
}
