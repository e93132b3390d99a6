/** What a tablet that was refused is told, and what it may do. */
import type { Plan } from './ready.ts';

const REFUSED_SEAT = 'another viewer steers this run';

export type EndWords = { readonly title: string; readonly text: string; readonly mayLookOn: boolean };

/** `plan`: of the run that refused it; null where it never came to one. */
export function refusedWords(reason: string, plan: Plan | null): EndWords {
	if (reason !== REFUSED_SEAT || plan === null)
		return { title: 'The laptop did not take this tablet', text: reason, mayLookOn: false };
	return {
		title: 'Another tablet steers this run',
		text: 'One tablet is measured at a time. This one may look on; it is in no figure.',
		mayLookOn: true,
	};
}
