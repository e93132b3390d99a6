/** A yard check on disk: one plain file in a folder of its own beside the runs, written whole or not at all after every step. */
import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import {
	newYardSession,
	YARD_FORMAT,
	YARD_VERSION,
	type YardRun,
	type YardSession,
	yardSchema,
} from '../verdict/yardSession.ts';
import { type DocumentKind, readDocument, writeDocument } from './documentFile.ts';

const YARDS = 'yards';
const FILE = 'yard.json';
/** The one page to show or print, beside it. */
export const YARD_PAGE = 'yard.html';
const KIND: DocumentKind<YardSession> = { format: YARD_FORMAT, version: YARD_VERSION, schema: yardSchema };

/** Where a check of that name keeps its file and its page. */
export function yardFolder(root: string, name: string): string {
	return join(root, YARDS, name);
}

/** The check as it was left, its old runs marked, or a new one. Throws `OutsideFailure` for a file that cannot be read. */
export function openYard(root: string, name: string, now: string): YardSession {
	const path = join(yardFolder(root, name), FILE);
	return existsSync(path) ? markOld(readDocument(path, KIND), Date.parse(now)) : newYardSession(name, now);
}

/** So long after a run the air is taken to be another: common practice, no source. */
const OLD_MS = 3_600_000;

/** A run that does not say when it was made is as old as its check. */
function markOld(session: YardSession, nowMs: number): YardSession {
	const { visits, verdictRuns, enduranceRuns, startedAt } = session;
	const isOld = ({ reading }: YardRun): boolean =>
		nowMs - Date.parse(reading?.made?.startedAt ?? startedAt) >= OLD_MS;
	const old = [...visits, ...verdictRuns, ...enduranceRuns].filter(isOld);
	return { ...session, staleRuns: old.map(({ runId }) => runId) };
}

export async function saveYard(root: string, session: YardSession): Promise<void> {
	await writeDocument(join(yardFolder(root, session.name), FILE), session);
}

/** The checks that are kept, the newest first; a file that cannot be read is passed over. */
export function keptYards(root: string): { name: string; startedAt: string; isDone: boolean }[] {
	const folder = join(root, YARDS);
	const names = existsSync(folder) ? readdirSync(folder) : [];
	return names
		.flatMap((name) => {
			try {
				const { startedAt, backAtKit } = readDocument(join(folder, name, FILE), KIND);
				return [{ name, startedAt, isDone: backAtKit }];
			} catch {
				return [];
			}
		})
		.sort((a, b) => b.startedAt.localeCompare(a.startedAt, 'en'));
}
