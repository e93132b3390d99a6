/** Runs, kits and trends as a terminal shows them. The shapes are stated here, so that the report knows nothing of disks. */
import { formatNumber } from './numbers.ts';
import { clean, item, type Page, paragraphLines } from './paper.ts';

type ListedRun = {
	readonly folder: string;
	readonly facts: {
		readonly startedAt: string;
		readonly rig: string;
		readonly profile: string;
		readonly subject: string;
		readonly headline: string;
	};
	readonly kit: string | null;
	readonly session: string | null;
	readonly place: string | null;
};

type ListOptions = Page & {
	readonly troubles: readonly string[];
	/** Whether every file was looked at. */
	readonly checked: boolean;
	readonly emptyWords: string;
};

export function renderRunList(runs: readonly ListedRun[], options: ListOptions): string {
	const lines = runs.flatMap((run) => runLines(run, options));
	if (runs.length === 0) lines.push(...paragraphLines(options.emptyWords, options));
	if (options.checked && options.troubles.length === 0 && runs.length > 0)
		lines.push('Every file is as it was when its run was sealed.');
	for (const trouble of options.troubles) lines.push(...item(trouble, options, '! '));
	return `${lines.join('\n')}\n`;
}

function runLines(run: ListedRun, options: Page): string[] {
	const { facts, kit, session, place } = run;
	const day = facts.startedAt.slice(0, 16).replace('T', ' ');
	const whose = [kit, session === null ? null : `session ${session}`, place].filter((word) => word !== null);
	const about = [
		`${day}  ${[`${facts.rig}, ${facts.profile}`, ...whose].join('; ')}`,
		facts.subject,
		facts.headline,
	];
	const body = about.flatMap((text) => item(text, options, '  '));
	return [...paragraphLines(run.folder, options), ...body, ''];
}

type ShownTrend = {
	readonly path: string;
	readonly points: readonly { readonly startedAt: string; readonly value: number }[];
	readonly sessionCount: number;
	readonly withoutIt: number;
	readonly faulty: number;
	readonly mixed: readonly string[];
	readonly changes: readonly {
		readonly startedAt: string;
		readonly before: number;
		readonly after: number;
	}[];
};

/** Points told at most; the change points are taken over all of them. */
const MOST_POINTS = 20;

/** Line by line, for terminal and page; points begin with two spaces. */
export function trendWords(trend: ShownTrend): string[] {
	const { points, changes, withoutIt, faulty } = trend;
	const lines = [`${trend.path}, ${points.length} runs of ${trend.sessionCount} sessions, oldest first`];
	if (points.length > MOST_POINTS) lines.push(`  (the last ${MOST_POINTS} are shown)`);
	for (const { startedAt, value } of points.slice(-MOST_POINTS))
		lines.push(`  ${startedAt.slice(0, 16).replace('T', ' ')}  ${figure(value).padStart(12)}`);
	if (trend.mixed.length > 0)
		lines.push(...trend.mixed.map((text) => `No change is told: these runs are ${text}. Narrow the search.`));
	else if (changes.length === 0)
		lines.push(
			'No change of level that stands out from the scatter (8 sessions or more are needed to tell one).',
		);
	for (const { startedAt, before, after } of changes)
		lines.push(
			`From ${startedAt.slice(0, 10)} on: ${figure(after)} instead of ${figure(before)} (medians of the stretches).`,
		);
	if (withoutIt > 0) lines.push(`${withoutIt} runs have no such figure.`);
	if (faulty > 0)
		lines.push(`${faulty} runs are left out: something is wrong with them, as a plain list says.`);
	return lines;
}

export function renderTrend(trend: ShownTrend, page: Page): string {
	const lines = trendWords(trend).flatMap((line) =>
		line.startsWith('  ') ? [clean(line, page)] : paragraphLines(line, page),
	);
	return `${lines.join('\n')}\n`;
}

function figure(value: number): string {
	const size = Math.abs(value);
	return formatNumber(value, size >= 100 ? 1 : size >= 1 ? 2 : 4);
}

type ShownKit = {
	readonly key: string;
	readonly name: string;
	readonly serialNumbers: Readonly<Record<string, string>>;
	readonly firmware: string;
	readonly appVersion: string;
	readonly tabletVersion: string;
	readonly parts: readonly string[];
	readonly notes: string;
	readonly referenceRuns: readonly string[];
};

export function renderKit(kit: ShownKit, page: Page): string {
	const serials = Object.entries(kit.serialNumbers).map(([what, number]) => `${what} ${number}`);
	const rows: (readonly [string, string])[] = [
		['serial numbers', serials.join(', ')],
		['firmware', kit.firmware],
		['app', kit.appVersion],
		['tablet', kit.tabletVersion],
		['parts', kit.parts.join(', ')],
		['reference', kit.referenceRuns.join(', ')],
		['notes', kit.notes],
	];
	const lines = rows
		.filter(([, text]) => text !== '')
		.flatMap(([term, text]) => item(text, page, `  ${term.padEnd(16)}`));
	return `${[clean(`${kit.key}: ${kit.name}`, page), ...lines].join('\n')}\n`;
}
