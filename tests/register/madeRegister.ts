/** A register in an empty folder, with runs whose figures are stated by hand; no run gave them. */
import { mkdirSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { sealPrint } from '../../src/register/integrity.ts';
import type { Kit, Session } from '../../src/register/records.ts';
import { writeEntry, writeKit, writeSession } from '../../src/register/registerFolder.ts';
import { sealFolder } from '../../src/register/seal.ts';
import { roundFigures } from '../../src/verdict/rounding.ts';

const EXAMPLE = JSON.parse(
	readFileSync(resolve(import.meta.dirname, '../../reports/example/result.json'), 'utf8'),
);

export function emptyRoot(): string {
	return mkdtempSync(join(tmpdir(), 'steerworthy-register-'));
}

type MadeRun = {
	readonly runId: string;
	readonly startedAt?: string;
	readonly p95Ms?: number;
	/** Changes the made result before it is sealed. */
	readonly change?: (result: typeof EXAMPLE) => void;
};

/** A sealed folder that holds the example's result under another id, with another P95 of delay. */
export async function madeRunFolder(root: string, run: MadeRun, folder = run.runId): Promise<string> {
	const startedAt = run.startedAt ?? '2026-02-01T10:00:00Z';
	const path = join(root, folder);
	mkdirSync(path, { recursive: true });
	const result = structuredClone(EXAMPLE);
	result.run.id = run.runId;
	result.run.startedAt = startedAt;
	result.run.subject.invented = false;
	if (run.p95Ms !== undefined) result.metrics.freshDelay.p95Ms = roundFigures({ p95Ms: run.p95Ms }).p95Ms;
	run.change?.(result);
	writeFileSync(join(path, 'observations.jsonl'), `made observations of ${run.runId}\n`);
	writeFileSync(join(path, 'result.json'), JSON.stringify(result));
	await sealFolder(path, {
		runId: run.runId,
		startedAt,
		subject: result.verdict.subject,
		rig: result.run.rig,
		profile: result.run.profile,
		headline: result.verdict.headline,
	});
	return path;
}

export function madeKit(key: string, over: Partial<Kit> = {}): Kit {
	return {
		format: 'steerworthy-kit',
		version: 1,
		key,
		name: `the ${key}`,
		serialNumbers: { scope: `${key}-1` },
		firmware: '1.0',
		appVersion: '2.0',
		tabletVersion: 'a tablet',
		parts: [],
		notes: '',
		referenceRuns: [],
		changedAt: '2026-01-01T00:00:00Z',
		...over,
	};
}

export function madeSession(key: string, kit: string, over: Partial<Session> = {}): Session {
	return {
		format: 'steerworthy-session',
		version: 1,
		key,
		kit,
		place: null,
		setting: null,
		poweredOffBefore: true,
		by: 'someone',
		notes: '',
		changedAt: '2026-01-01T00:00:00Z',
		...over,
	};
}

/** Enters a made run as a session of its own. */
export async function enterRun(
	root: string,
	{ runId, kit, ...over }: { runId: string; kit: string; place?: string; setting?: string },
): Promise<void> {
	await writeKit(root, madeKit(kit));
	await writeSession(root, madeSession(`session-${runId}`, kit, over));
	await writeEntry(root, {
		format: 'steerworthy-entry',
		version: 1,
		...(await sealPrint(join(root, runId))),
		kit,
		session: `session-${runId}`,
		enteredAt: '2026-02-02T00:00:00Z',
	});
}
