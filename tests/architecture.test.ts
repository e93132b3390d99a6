/**
 * The house, checked by syntax tree: who may import whom, which packages, no circles, and a core without a clock,
 * without luck, without a machine under it. The tables here are the rule; DEVELOPERS.md tells them in words.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';
import { parseSync } from 'vite';
import { describe, expect, test } from 'vitest';

const SRC = resolve(import.meta.dirname, '../src');

type Rule = { readonly folders: readonly string[]; readonly packages: readonly string[] };

const CORE: Record<string, Rule> = {
	statistics: { folders: [], packages: [] },
	colour: { folders: [], packages: [] },
	imaging: { folders: ['colour', 'statistics'], packages: ['pixelmatch'] },
	pattern: { folders: ['colour', 'imaging'], packages: [] },
	observations: { folders: ['statistics'], packages: ['zod'] },
	reading: { folders: ['pattern', 'imaging', 'observations', 'statistics', 'colour'], packages: [] },
	simulation: { folders: ['pattern', 'imaging', 'observations', 'statistics', 'colour'], packages: [] },
	metrics: { folders: ['observations', 'statistics', 'colour'], packages: [] },
	verdict: { folders: ['metrics', 'statistics', 'observations'], packages: ['zod'] },
	report: { folders: ['observations', 'metrics', 'verdict'], packages: [] },
	protocol: { folders: ['observations', 'pattern'], packages: ['zod'] },
};
const CORE_FOLDERS = Object.keys(CORE);
const RIG_MAY = [
	...['pattern', 'reading', 'observations', 'statistics', 'protocol', 'imaging', 'simulation'],
	...['media/node', 'transports'],
];

/** A folder may always import itself and `failure.ts`, the one word that all share. */
const RULES: Record<string, Rule> = {
	...CORE,
	'media/node': { folders: ['imaging'], packages: ['jpeg-js', 'node-av', 'pngjs', 'zod'] },
	'media/web': { folders: ['imaging'], packages: [] },
	transports: {
		folders: ['protocol', 'simulation', 'observations', 'statistics'],
		packages: ['@roamhq/wrtc', 'simple-peer', 'ws', 'zod'],
	},
	'rigs/air': { folders: [], packages: [] },
	'rigs/still': { folders: [...RIG_MAY, 'colour'], packages: [] },
	'rigs/link': { folders: RIG_MAY, packages: ['ws', 'zod'] },
	'rigs/recording': { folders: [...RIG_MAY, 'colour'], packages: [] },
	'rigs/optical': { folders: RIG_MAY, packages: [] },
	register: { folders: ['observations', 'metrics', 'verdict', 'statistics'], packages: ['zod'] },
	pack: { folders: ['register', 'report', 'media/node'], packages: ['fflate'] },
	console: {
		folders: [...CORE_FOLDERS, 'rigs/air', 'rigs/link', 'transports', 'register', 'pack', 'media/node'],
		packages: ['selfsigned', 'uqr', 'ws'],
	},
	pages: { folders: [...CORE_FOLDERS, 'media/web'], packages: ['vite'] },
	cli: {
		folders: [
			...CORE_FOLDERS,
			'media/node',
			'transports',
			'rigs/air',
			'rigs/link',
			'rigs/optical',
			'rigs/recording',
			'rigs/still',
			'register',
			'pack',
			'console',
		],
		packages: ['commander', 'playwright-core'],
	},
};
const NODE_FOLDERS = [
	'media/node',
	'transports',
	'rigs/air',
	'rigs/link',
	'rigs/optical',
	'rigs/recording',
	'rigs/still',
	'register',
	'pack',
	'console',
	'cli',
];

/**
 * What the compiler would let through in the core, whose library is ES2023 alone: the clock, the locale, and the way
 * round to everything else. (DOM and Node names do not compile there.)
 */
const FORBIDDEN_NAMES = new Set(['Date', 'Intl', 'globalThis']);
/** The one door to an optional codec library, whose name is an argument there. */
const COMPUTED_IMPORT_IN = 'media/node/codecLibrary.ts';

type SyntaxNode = { readonly type: string; readonly [key: string]: unknown };
type Source = { readonly name: string; readonly folder: string; readonly tree: SyntaxNode };

function folderOf(path: string): string {
	const [first = '', second = ''] = relative(SRC, path).split('/');
	return first === 'rigs' || first === 'media' ? `${first}/${second}` : first;
}

function isNode(value: unknown): value is SyntaxNode {
	return typeof value === 'object' && value !== null && typeof (value as SyntaxNode).type === 'string';
}

function* nodesOf(node: SyntaxNode): Generator<SyntaxNode> {
	yield node;
	for (const value of Object.values(node)) {
		for (const child of Array.isArray(value) ? value : [value]) if (isNode(child)) yield* nodesOf(child);
	}
}

const COMPUTED = '(a computed import)';

function importsOf(tree: SyntaxNode): string[] {
	const found: string[] = [];
	for (const node of nodesOf(tree)) {
		const source = node['source'];
		const imports = [
			'ImportDeclaration',
			'ExportAllDeclaration',
			'ExportNamedDeclaration',
			'ImportExpression',
		];
		if (imports.includes(node.type) && isNode(source) && typeof source['value'] === 'string')
			found.push(source['value']);
		if (node.type === 'ImportExpression' && !(isNode(source) && source.type === 'Literal'))
			found.push(COMPUTED);
	}
	return found;
}

const SOURCES: readonly Source[] = readdirSync(SRC, { recursive: true, encoding: 'utf8' })
	.filter((name) => name.endsWith('.ts'))
	.map((name) => {
		const parsed = parseSync(name, readFileSync(join(SRC, name), 'utf8'));
		if (parsed.errors.length > 0) throw new Error(`${name}: ${parsed.errors[0]?.message}`);
		return { name, folder: folderOf(join(SRC, name)), tree: parsed.program as unknown as SyntaxNode };
	});
const HOUSE = SOURCES.filter((source) => source.folder !== 'failure.ts');

function packageOf(specifier: string): string {
	return specifier.startsWith('@')
		? specifier.split('/').slice(0, 2).join('/')
		: (specifier.split('/')[0] as string);
}

function brokenImports({ name, folder, tree }: Source): string[] {
	const rule = RULES[folder];
	if (rule === undefined) return [`${name} lives in ${folder}, which is not in the table`];
	return importsOf(tree).flatMap((specifier) => {
		if (specifier.startsWith('node:'))
			return NODE_FOLDERS.includes(folder) || name === 'pages/vite.config.ts'
				? []
				: [`${name}: ${specifier}`];
		if (specifier === COMPUTED) return name === COMPUTED_IMPORT_IN ? [] : [`${name}: ${specifier}`];
		if (!specifier.startsWith('.'))
			return rule.packages.includes(packageOf(specifier)) ? [] : [`${name}: package ${specifier}`];
		const target = folderOf(resolve(SRC, name, '..', specifier));
		return target === folder || target === 'failure.ts' || rule.folders.includes(target)
			? []
			: [`${name} imports ${target}`];
	});
}

function forbiddenNames({ name, tree }: Source): string[] {
	const found: string[] = [];
	for (const node of nodesOf(tree)) {
		if (node.type === 'Identifier' && FORBIDDEN_NAMES.has(String(node['name'])))
			found.push(`${name}: ${node['name']}`);
		const property = node['property'];
		if (node.type === 'MemberExpression' && isNode(property) && property['name'] === 'random')
			if (isNode(node['object']) && node['object']['name'] === 'Math') found.push(`${name}: Math.random`);
	}
	return found;
}

function circles(): string[] {
	const edges = new Map(
		SOURCES.map(({ name, tree }) => [
			resolve(SRC, name),
			importsOf(tree)
				.filter((specifier) => specifier.startsWith('.'))
				.map((specifier) => resolve(SRC, name, '..', specifier)),
		]),
	);
	const done = new Set<string>();
	const found: string[] = [];
	const visit = (file: string, path: readonly string[]): void => {
		if (path.includes(file)) found.push([...path.slice(path.indexOf(file)), file].join(' > '));
		else if (!done.has(file)) {
			for (const next of edges.get(file) ?? []) visit(next, [...path, file]);
			done.add(file);
		}
	};
	for (const file of edges.keys()) visit(file, []);
	return found;
}

describe('the house', () => {
	test('the check looked at every folder of the table', () => {
		const seen = new Set(HOUSE.map(({ folder }) => folder));
		expect(Object.keys(RULES).filter((folder) => !seen.has(folder))).toEqual([]);
		expect(HOUSE.length).toBeGreaterThan(60);
	});

	test('imports follow the data', () => {
		expect(HOUSE.flatMap(brokenImports)).toEqual([]);
	});

	test('the core names no clock, no luck and no machine', () => {
		const core = HOUSE.filter(({ folder }) => CORE_FOLDERS.includes(folder));
		expect(core.length).toBeGreaterThan(40);
		expect(core.flatMap(forbiddenNames)).toEqual([]);
	});

	test('no file imports itself by a detour', () => {
		expect(circles()).toEqual([]);
	});

	test('a planted offence of each sort is caught', () => {
		const planted = (text: string): Source => ({
			name: 'statistics/planted.ts',
			folder: 'statistics',
			tree: parseSync('planted.ts', text).program as unknown as SyntaxNode,
		});
		expect(brokenImports(planted("import { x } from '../metrics/metric.ts';"))).toHaveLength(1);
		expect(brokenImports(planted("import { readFileSync } from 'node:fs';"))).toHaveLength(1);
		expect(brokenImports(planted("export const z = await import('zod');"))).toHaveLength(1);
		expect(forbiddenNames(planted('export const now = () => Date.now();'))).toHaveLength(1);
		expect(forbiddenNames(planted('export const luck = Math.random();'))).toHaveLength(1);
	});

	test('no file is a drawer for odds and ends', () => {
		expect(SOURCES.filter(({ name }) => /util|helper|manager|misc/i.test(name))).toEqual([]);
	});

	test('every folder of the table that holds built code is compiled by some project', () => {
		const projects = ['core', 'node', 'web'].map((name) =>
			readFileSync(join(SRC, `tsconfig.${name}.json`), 'utf8'),
		);
		const compiled = (folder: string): boolean =>
			projects.some((text) => text.includes(`"${folder.split('/')[0]}"`) || text.includes(`"${folder}"`));
		expect(Object.keys(RULES).filter((folder) => existsSync(join(SRC, folder)) && !compiled(folder))).toEqual(
			[],
		);
	});
});
