/** What the command's exit code says (design: command line). 2 is also what the argument parser uses for wrong usage. */
import type { Answer } from '../verdict/verdict.ts';

export const EXIT = { completed: 0, answerNo: 1, wrongUsage: 2, rigFailed: 3, undetermined: 4 } as const;
export type Required = 'steering' | 'recording';

/** The exit code of a completed run, given the answer that was required, if any. */
export function exitCodeFor(answer: Answer | null): number {
	if (answer === null || answer === 'yes') return EXIT.completed;
	if (answer === 'notAsked') return EXIT.wrongUsage;
	return answer === 'no' ? EXIT.answerNo : EXIT.undetermined;
}
