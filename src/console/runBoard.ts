/** How far the run is that the console shows: its stage and the time observed, as the run tells them. */
import type { ConsoleState } from '../protocol/console.ts';
import type { LinkProgress } from '../rigs/link/link.ts';
import type { Session } from './linkSession.ts';

type Run = NonNullable<ConsoleState['run']>;

export class RunBoard {
	#stage: Run['stage'] = 'starting';
	#observedMs = 0;

	begin(): void {
		this.#stage = 'starting';
		this.#observedMs = 0;
	}

	take(progress: LinkProgress | { readonly stage: 'judging' }): void {
		const { stage } = progress;
		if (stage === 'waitingForViewer') this.#stage = 'waiting';
		else if (stage === 'warmUp' || stage === 'measuring' || stage === 'judging') this.#stage = stage;
		else if (stage === 'draining' || stage === 'finishing') this.#stage = 'ending';
		if (stage === 'warmUp' || stage === 'measuring') this.#observedMs = progress.observedMs;
	}

	of({ runId, targetMs, live }: Session): Run {
		return { runId, targetMs, stage: this.#stage, observedMs: this.#observedMs, live: live() };
	}
}
