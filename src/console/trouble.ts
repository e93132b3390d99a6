/** A failure as the laptop's page tells it; what is no failure of the world goes to the terminal whole. */
import { OutsideFailure } from '../failure.ts';
import type { ConsoleState } from '../protocol/console.ts';

export function troubleOf(failure: unknown): NonNullable<ConsoleState['trouble']> {
	if (failure instanceof OutsideFailure) return { happened: failure.message, advice: failure.advice };
	process.stderr.write(`${(failure as Error).stack}\n`);
	return { happened: String(failure), advice: 'Look in the window in which the console was started.' };
}
