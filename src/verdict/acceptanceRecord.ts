/** The record of an acceptance: what was measured, what was said, and whether it may be signed as it stands. */
import type { Acceptance } from './acceptance.ts';
import { type AcceptanceForm, blanksOf, CHECKS } from './acceptanceForm.ts';

/** A run since the kit came back, whatever became of it. */
export type Attempt = {
	readonly runId: string;
	readonly startedAt: string;
	readonly headline: string;
	/** Lines not met, or why the run does not count; empty when nothing is against it. */
	readonly failures: readonly string[];
	readonly counted: boolean;
	/** SHA-256 of the run's seal; null for a run that has none. */
	readonly sealSha256: string | null;
};

export type AcceptanceRecord = {
	readonly format: 'steerworthy-acceptance';
	readonly version: 1;
	readonly toolVersion: string;
	readonly kit: string;
	readonly form: AcceptanceForm;
	/** Whether any run was invented for the rehearsal: such a record is for practice and cannot be signed. */
	readonly invented: boolean;
	/** By which the new runs were judged. */
	readonly criteria: {
		readonly name: string;
		readonly hash: string;
		readonly differsFromStandard: readonly string[];
	} | null;
	readonly acceptance: Acceptance;
	readonly referenceRuns: readonly string[];
	readonly attempts: readonly Attempt[];
	/** Runs since then that are entered for no kit: they may have been attempts too. */
	readonly notEntered: readonly string[];
	/** Runs of this kit that are neither its reference nor since its return; a day of return set too late would hide attempts here. */
	readonly earlier: readonly string[];
	/** When it was signed off; null: a draft. */
	readonly signedAt: string | null;
};

/** Why the record may not be signed as it stands; empty when it may. */
export function signOffObstacles({ form, acceptance, invented }: AcceptanceRecord): string[] {
	const blanks = [
		...(invented ? ['the runs were invented for rehearsal: nothing real was tested'] : []),
		...blanksOf(form).map((what) => `not written down: ${what}`),
	];
	const { decision } = form;
	const release = decision === 'released' || decision === 'releasedWithRestrictions';
	if (release && acceptance.blocked)
		return [...blanks, `no release: ${acceptance.reasons[0] ?? 'a mirror image or a wrong wheel'}`];
	if (decision === 'released' && acceptance.outcome !== 'acceptable')
		return [
			...blanks,
			`"released" needs an acceptable outcome, and it is not: ${acceptance.reasons[0] ?? ''} (release with restrictions, or not)`,
		];
	const undone = (Object.keys(CHECKS) as (keyof typeof CHECKS)[])
		.filter((key) => form.checks[key].state === 'notDone')
		.map((key) => CHECKS[key]);
	if (decision === 'released' && undone.length > 0)
		return [
			...blanks,
			`"released" with tests that were not done: ${undone.join(', ')}; do them, or release with restrictions`,
		];
	return blanks;
}
