/** What an acceptance rests on, from the register: the kit's reference sessions, and every attempt since it came back. */
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import { assessAcceptance } from '../verdict/acceptance.ts';
import type { AcceptanceForm } from '../verdict/acceptanceForm.ts';
import type { AcceptanceRecord, Attempt } from '../verdict/acceptanceRecord.ts';
import { comparability } from '../verdict/comparable.ts';
import { type ArmSession, LEAST_SESSIONS } from '../verdict/comparison.ts';
import { sessionOf } from './arms.ts';
import { lostEntries, runFaults } from './integrity.ts';
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

type Gathered = Pick<
	AcceptanceRecord,
	'acceptance' | 'criteria' | 'invented' | 'referenceRuns' | 'attempts' | 'notEntered' | 'earlier'
>;

/** The day of return is a day of the place, and runs are stamped in universal time: no zone is further from it. */
const MOST_ZONE_MS = 14 * 3_600_000;

/**
 * Throws `OutsideFailure` `notComparable` when reference and new runs are not alike, when the new runs were judged by more than
 * one set of criteria, or when a reference run was changed, is missing, or could not count as one.
 */
export async function gatherAcceptance(sources: Sources): Promise<Gathered> {
	const { register, kit, form, rig } = sources;
	const runs = searchRuns(sources.rows, register, { kit: kit.key });
	const isReference = ({ facts }: FoundRun): boolean => kit.referenceRuns.includes(facts.runId);
	const reference = runs.filter((run) => isReference(run) && ofRig(run, rig));
	await checkReference(reference, sources);
	const since = runs.filter((run) => run.facts.startedAt >= returnStamp(form) && !isReference(run)).reverse();
	const attempts = await Promise.all(since.map((run) => attemptOf(run, sources)));
	const counted = since.filter((_run, i) => attempts[i]?.counted === true);
	const figures = comparedOf(reference, counted);
	const earlier = runs.filter((run) => !since.includes(run) && !isReference(run));
	const lost = lostAttempts(sources);
	return {
		acceptance: assessAcceptance({
			figures,
			reference: sessionsOf(reference).map(({ session }) => session),
			now: sessionsOf(counted).map(({ session, runs: its }) => ({
				...session,
				answers: its.map(({ facts }) => answerFor(form, facts)),
			})),
			newPart: form.newPart,
			orientation: form.orientation,
			wheelUpPictureUp: form.wheelUpPictureUp,
			misoriented: counted
				.filter(({ facts }) => facts.notMet.includes('orientation'))
				.map(({ facts }) => facts.runId),
			open: [
				...unnamedReference(reference, earlier, register),
				...lost.map(({ runId }) => `attempt ${runId} is entered and nothing can be read of it`),
				...since
					.filter((run, i) => attempts[i]?.counted === false && answerFor(form, run.facts) === 'no')
					.map(
						({ facts }) => `attempt ${facts.runId} says no and does not count: make it again from power off`,
					),
			],
		}),
		criteria: criteriaOf(counted),
		invented: [...reference, ...counted].some(({ facts }) => facts.invented),
		referenceRuns: reference.map(({ facts }) => facts.runId).sort(),
		attempts: [...attempts, ...lost],
		notEntered: notEntered(sources),
		earlier: earlier.map(({ facts }) => `${facts.runId}: ${facts.headline}`).sort(),
	};
}

/** The limits alone are for a kit without earlier runs, not for one whose reference was forgotten or taken away. */
function unnamedReference(
	reference: readonly FoundRun[],
	earlier: readonly FoundRun[],
	register: Register,
): string[] {
	if (reference.length > 0) return [];
	const could = earlier.filter(({ session, trouble }) => {
		const known = session === null ? undefined : register.sessions.get(session);
		return trouble === null && known?.poweredOffBefore === true;
	});
	const sessions = new Set(could.map(({ session }) => session)).size;
	return sessions < LEAST_SESSIONS
		? []
		: [
				`${sessions} sessions from before its return are kept and none is named as its reference: name them with kits reference`,
			];
}

function ofRig({ facts }: FoundRun, rig: string | null): boolean {
	return rig === null || facts.rig === rig;
}

function answerFor({ use }: AcceptanceForm, facts: FoundRun['facts']) {
	return use === 'steering' ? facts.steer : facts.record;
}

/** ISO 8601, early enough for the day of return to have begun anywhere. */
function returnStamp({ returnedOn }: AcceptanceForm): string {
	return new Date(Date.parse(`${returnedOn}T00:00:00Z`) - MOST_ZONE_MS).toISOString();
}

function comparedOf(reference: readonly FoundRun[], counted: readonly FoundRun[]) {
	const { refusals, figures } = comparability([...reference, ...counted].map(({ facts }) => facts));
	if (refusals.length > 0)
		throw notComparable(refusals.join(' '), 'Use --rig, or make the runs as the reference was made.');
	const places = [...new Set([...reference, ...counted].map(({ place }) => place ?? 'none stated'))].sort();
	if (reference.length > 0 && places.length > 1)
		throw notComparable(
			`The sessions are of more than one place (${places.join('; ')}), and kit and place could not be told apart.`,
			'Make the runs where the reference was made, or write down the place with kits enter.',
		);
	return figures;
}

function criteriaOf(counted: readonly FoundRun[]): AcceptanceRecord['criteria'] {
	const [first] = counted;
	if (first === undefined) return null;
	if (counted.some(({ facts }) => facts.criteriaHash !== first.facts.criteriaHash))
		throw notComparable(
			'The runs since its return were judged by more than one set of criteria.',
			'Judge them all by one: steerworthy judge FOLDER --criteria NAME --rewrite, then enter them again.',
		);
	const { criteriaName: name, criteriaHash: hash, criteriaDiffer: differsFromStandard } = first.facts;
	return { name, hash, differsFromStandard };
}

/** Runs, and folders that nobody can read, that belong to no kit. */
function notEntered({ rows, register, form }: Sources): string[] {
	const unread = rows
		.filter(({ facts, folder }) => facts === null && !register.entries.has(folder))
		.map(({ folder, trouble }) => `${folder}: ${trouble ?? 'it cannot be read'}`);
	return [
		...searchRuns(rows, register, { since: returnStamp(form) })
			.filter(({ kit }) => kit === null)
			.map(({ facts }) => `${facts.runId}: ${facts.headline}`),
		...unread,
	].sort();
}

/** A reference that is partly gone would be a laxer one, or none at all. */
async function checkReference(reference: readonly FoundRun[], sources: Sources): Promise<void> {
	const { root, register, kit, rows } = sources;
	const known = new Set(rows.flatMap(({ facts }) => (facts === null ? [] : [facts.runId])));
	const missing = kit.referenceRuns.find((id) => !known.has(id) || register.entries.get(id)?.kit !== kit.key);
	const advice = 'A reference that was changed is none: restore it, or name another with kits reference.';
	if (missing !== undefined)
		throw notComparable(`Reference run ${missing} is not there, or is not entered for this kit.`, advice);
	for (const run of reference) {
		const [fault] = await faultsOf(run, root, register);
		if (fault !== undefined) throw notComparable(`Reference run ${run.facts.runId}: ${fault}`, advice);
	}
}

async function faultsOf(
	{ facts, folder, trouble, session: key }: FoundRun,
	root: string,
	register: Register,
): Promise<string[]> {
	const session = key === null ? undefined : register.sessions.get(key);
	return [
		...(trouble === null ? [] : [trouble]),
		...(facts.torn ? ['it was broken off'] : []),
		...(await runFaults(join(root, folder), register.entries.get(facts.runId) ?? null)),
		...(session?.poweredOffBefore === true ? [] : ['its session did not begin from power off']),
	];
}

/** Every run since then stands in the record; one that was changed, broken off or not begun from power off does not count. */
async function attemptOf(run: FoundRun, { root, register, rig }: Sources): Promise<Attempt> {
	const { facts } = run;
	const faults = [
		...(await faultsOf(run, root, register)),
		...(ofRig(run, rig) ? [] : [`it is one of the rig ${facts.rig}`]),
	];
	return {
		runId: facts.runId,
		startedAt: facts.startedAt,
		headline: facts.headline,
		failures: [...faults, ...facts.notMet.map((id) => `not met: ${id}`)],
		counted: faults.length === 0,
		sealSha256: register.entries.get(facts.runId)?.sealSha256 ?? null,
	};
}

/** Entered since then, and gone: when it was made nobody can tell, so the day on which it was entered stands for it. */
function lostAttempts({ rows, register, kit, form }: Sources): Attempt[] {
	return lostEntries(rows, register)
		.filter(({ entry }) => entry.kit === kit.key && !kit.referenceRuns.includes(entry.runId))
		.filter(({ entry }) => entry.enteredAt >= returnStamp(form))
		.map(({ entry, why }) => ({
			runId: entry.runId,
			startedAt: entry.enteredAt,
			headline: 'nothing can be read of it',
			failures: [why],
			counted: false,
			sealSha256: entry.sealSha256,
		}));
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
