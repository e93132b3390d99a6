/**
 * Child processes of the bench and what they say: plain JSON over Node's own channel, checked against a schema on arrival.
 * A child whose parent is gone ends by itself. A world's failure in a child arrives at the parent as the same failure.
 */
import { type ChildProcess, fork } from 'node:child_process';
import { createRequire } from 'node:module';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { z } from 'zod';
import { OutsideFailure } from '../failure.ts';

/** Sent by any child instead of what was asked of it. */
export const failedSchema = z.object({
	type: z.literal('failed'),
	code: z.string(),
	happened: z.string(),
	advice: z.string(),
});

/**
 * Starts the module `name` (without extension) beside `base` (an `import.meta.url`). From TypeScript sources it runs
 * through the loader that also runs the tests; from `dist` it is plain Node.
 */
export function startChild(base: string, name: string): ChildProcess {
	const fromSources = base.endsWith('.ts');
	const modulePath = fileURLToPath(new URL(`./${name}${fromSources ? '.ts' : '.js'}`, base));
	const loader = fromSources ? pathToFileURL(createRequire(base).resolve('tsx')).href : null;
	const execArgv = loader === null ? [] : ['--import', loader];
	return fork(modulePath, [], { execArgv, stdio: ['ignore', 'ignore', 'inherit', 'ipc'] });
}

/** Sends one message; silently nothing when the child has gone, whose end is told by its `exit`. */
export function tell(child: ChildProcess, message: object): void {
	if (child.connected) child.send(message, () => {});
}

/** Resolves when the child has ended; it is killed when it has not within `patienceMs`. */
export function ended(child: ChildProcess, patienceMs: number): Promise<void> {
	if (child.exitCode !== null || child.signalCode !== null) return Promise.resolve();
	return new Promise((resolve) => {
		const timer = setTimeout(() => child.kill('SIGKILL'), patienceMs);
		child.once('exit', () => {
			clearTimeout(timer);
			resolve();
		});
	});
}

/** In the child: what the parent says, checked; a message that does not fit, or a lost parent, ends the child. */
export function onParentMessage<T>(schema: z.ZodType<T>, handle: (message: T) => void | Promise<void>): void {
	process.on('message', (raw) => {
		Promise.resolve()
			.then(() => handle(schema.parse(raw)))
			.catch(failAndExit);
	});
	process.on('disconnect', () => process.exit(0));
}

/** In the child: tells the parent. */
export function tellParent(message: object): void {
	// A parent that is just ending cannot be told any more, and this child then ends too.
	if (process.connected) process.send?.(message, undefined, undefined, () => {});
}

function failAndExit(error: unknown): void {
	const failure =
		error instanceof OutsideFailure
			? { code: error.code, happened: error.message, advice: error.advice }
			: {
					code: 'childFailed',
					happened: `A helper process failed: ${String(error)}`,
					advice: 'Report this as a fault.',
				};
	process.send?.({ type: 'failed', ...failure }, () => process.exit(1));
}
