/** Three run folders to one answer about the kit here: observations -> metrics, the kit's also as they would be later -> verdict. */
import { OutsideFailure } from '../failure.ts';
import { measureLinkShift } from '../metrics/linkShift.ts';
import { measureRun } from '../metrics/measureRun.ts';
import type { Metrics } from '../metrics/metric.ts';
import { laterBy } from '../observations/laterBy.ts';
import type { Run } from '../observations/run.ts';
import { readRunFolder } from '../register/runFolder.ts';
import type { ToldHere } from '../report/kitHereWords.ts';
import { type Criteria, thresholdsOf } from '../verdict/criteria.ts';
import { judgeKitHere } from '../verdict/kitHere.ts';
import { AS_SEALED, sealNotes } from './judgeAgain.ts';
import type { Progress } from './progressBar.ts';

export type ThreeFolders = { readonly kit: string; readonly link: string; readonly home: string };

/** Throws `OutsideFailure`: `notComparable` where a folder holds a run of another rig, and what reading a run says. */
export async function kitHereOf(
	{ kit, link, home }: ThreeFolders,
	criteria: Criteria,
	progress?: Progress,
): Promise<ToldHere> {
	progress?.show(0, 'reading the three runs');
	const runs = {
		kit: await readRunFolder(kit),
		here: await readRunFolder(link),
		home: await readRunFolder(home),
	};
	requireRig(runs.kit, kit, 'optical');
	requireRig(runs.here, link, 'link');
	requireRig(runs.home, home, 'link');
	const measure = (run: Run): Metrics => measureRun(run, thresholdsOf(criteria));
	progress?.show(0.3, 'setting the link here beside the one at home');
	const shift = measureLinkShift(runs.here, runs.home);
	progress?.show(0.6, 'adding to the kit what the link adds');
	const found = judgeKitHere(
		{
			...{ kit: measure(runs.kit), here: measure(runs.here), home: measure(runs.home) },
			shift,
			kitLaterBy: (addedMs) => measure(laterBy(runs.kit, addedMs)),
		},
		criteria,
	);
	return { ...found, notes: await fileNotes([kit, link, home]) };
}

/** Only of folders that are not as they were sealed. */
async function fileNotes(folders: readonly string[]): Promise<string[]> {
	const notes = await Promise.all(folders.map(async (folder) => ({ folder, said: await sealNotes(folder) })));
	return notes.flatMap(({ folder, said }) =>
		said.filter((note) => note !== AS_SEALED).map((note) => `${folder}: ${note}`),
	);
}

const WANTED = {
	optical: 'Give the folder of films of the kit through its own lens, made with `steerworthy optical`.',
	link: 'Give the folder of a link run made with the tablet.',
} as const;

function requireRig({ header }: Run, folder: string, rig: keyof typeof WANTED): void {
	if (header.rig !== rig)
		throw new OutsideFailure(
			'notComparable',
			`${folder} holds a run of the rig "${header.rig}".`,
			WANTED[rig],
		);
}
