/** What an acceptance rests on, from the register: the kit's reference sessions, and every attempt since it came back. */
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import { assessAcceptance } from '../verdict/acceptance.ts';
import type { AcceptanceForm } from '../verdict/acceptanceForm.ts';
import type { AcceptanceRecord, Attempt } from '../verdict/acceptanceRecord.ts';
import { comparability } from '../verdict/comparable.ts';
import type { ArmSession } from '../verdict/comparison.ts';
import { sessionOf } from './arms.ts';
import { runFaults } from './integrity.ts';
import type { Kit } from './records.ts';
import type { Register } from './registerFolder.ts';
import type { RunRow } from './runRow.ts';
import { type FoundRun, searchRuns } from './searchRuns.ts';

type Sources = {
	readonly root: string;
	readonly rows: readonly RunRow[];
	readonly register: Register;
	readonly kit: Kit;
	readonly form: AcceptanceForm;
	readonly rig: string | null;
};

type Gathered = Pick<AcceptanceRecord, 'acceptance' | 'referenceRuns' | 'attempts' | 'notEntered'>;

/** Throws `OutsideFailure` `notComparable` when reference and new runs are not alike, or a reference run was changed. */
export async function gatherAcceptance(sources: Sources): Promise<Gathered> {
	const { register, kit, form, rig } = sources;
	const runs = searchRuns(sources.rows, register, { kit: kit.key, ...(rig === null ? {} : { rig }) });
	const reference = runs.filter(({ facts }) => kit.referenceRuns.includes(facts.runId));
	const since = runs
		.filter(({ facts }) => facts.startedAt >= form.returnedOn && !kit.referenceRuns.includes(facts.runId))
		.reverse();
	const attempts = await Promise.all(since.map((run) => attemptOf(run, sources)));
	const counted = since.filter((_run, i) => attempts[i]?.counted === true);
	await checkReference(reference, sources);
	const { refusals, figures } = comparability([...reference, ...counted].map(({ facts }) => facts));
	if (refusals.length > 0)
		throw notComparable(refusals.join(' '), 'Use --rig, or make the runs as the reference was made.');
	return {
		acceptance: assessAcceptance({
			figures,
			reference: sessionsOf(reference).map(({ session }) => session),
			now: sessionsOf(counted).map(({ session, runs: its }) => ({
				...session,
				answers: its.map(({ facts }) => (form.use === 'steering' ? facts.steer : facts.record)),
			})),
			newPart: form.newPart,
			orientation: form.orientation,
			wheelUpPictureUp: form.wheelUpPictureUp,
		}),
		referenceRuns: reference.map(({ facts }) => facts.runId).sort(),
		attempts,
		notEntered: notEntered(sources),
	};
}

function notEntered({ rows, register, form }: Sources): string[] {
	return searchRuns(rows, register, { since: form.returnedOn })
		.filter(({ kit }) => kit === null)
		.map(({ facts }) => `${facts.runId}: ${facts.headline}`)
		.sort();
}

async function checkReference(reference: readonly FoundRun[], { root, register }: Sources): Promise<void> {
	for (const { folder, facts } of reference) {
		const [fault] = await runFaults(join(root, folder), register.entries.get(facts.runId) ?? null);
		if (fault !== undefined)
			throw notComparable(fault, 'A reference that was changed is none: restore it, or name another.');
	}
}

/** Every run since then stands in the record; one that was changed, broken off or not begun from power off does not count. */
async function attemptOf(run: FoundRun, { root, register }: Sources): Promise<Attempt> {
	const { facts, folder } = run;
	const entry = register.entries.get(facts.runId) ?? null;
	const session = run.session === null ? undefined : register.sessions.get(run.session);
	const faults = [
		...(run.trouble === null ? [] : [run.trouble]),
		...(facts.torn ? ['it was broken off'] : []),
		...(await runFaults(join(root, folder), entry)),
		...(session?.poweredOffBefore === true ? [] : ['its session did not begin from power off']),
	];
	return {
		runId: facts.runId,
		startedAt: facts.startedAt,
		headline: facts.headline,
		failures: [...faults, ...facts.notMet.map((id) => `not met: ${id}`)],
		counted: faults.length === 0,
		sealSha256: entry?.sealSha256 ?? null,
	};
}

function sessionsOf(runs: readonly FoundRun[]): { session: ArmSession; runs: FoundRun[] }[] {
	const keys = [...new Set(runs.map(({ session }) => session))];
	return keys.map((key) => {
		const its = runs.filter(({ session }) => session === key);
		return { session: sessionOf(key ?? '', its), runs: its };
	});
}

function notComparable(what: string, advice: string): OutsideFailure {
	return new OutsideFailure('notComparable', `The kit is not held against its reference. ${what}`, advice);
}
