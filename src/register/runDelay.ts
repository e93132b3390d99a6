/** The delay of one kept run, as its result has it. */
import { OutsideFailure } from '../failure.ts';
import { readRunRow } from './runRow.ts';

export type RunDelay = {
	readonly runId: string;
	readonly delay: { readonly medianMs: number; readonly p95Ms: number };
	/** Whether only the way through the air was measured, without scope and app. */
	readonly linkOnly: boolean;
};

/** Throws `OutsideFailure` `noRun` when the folder holds no sound result, or one in which no delay was measured. */
export async function runDelay(folder: string): Promise<RunDelay> {
	const { facts, trouble } = await readRunRow('', folder, '');
	const [medianMs, p95Ms] = ['freshDelay.medianMs', 'freshDelay.p95Ms'].map((path) => facts?.figures[path]);
	if (facts === null || medianMs === undefined || p95Ms === undefined)
		throw new OutsideFailure(
			'noRun',
			trouble ?? `Neither median nor P95 of a delay was measured in ${folder}.`,
			'Give the folder of a run in which delay was measured; `steerworthy runs` lists them.',
		);
	return { runId: facts.runId, delay: { medianMs, p95Ms }, linkOnly: facts.subjectKind === 'link' };
}
