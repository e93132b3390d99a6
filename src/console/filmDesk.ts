/**
 * Films of a closed kit, dropped on the laptop's page and judged. The files are handed to this computer and read by the very command that a person
 * would type (`optical`), in a process of its own at low priority: one way of reading, every codec it knows, and a console that goes on answering. A
 * decoder in the page would read fewer kinds (no HEVC in most browsers), and its time stamps would have to be trusted anew.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { createWriteStream, existsSync } from 'node:fs';
import { mkdir, rm } from 'node:fs/promises';
import { constants, setPriority } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { OutsideFailure } from '../failure.ts';
import type { FilmOrder, FilmState } from '../protocol/films.ts';
import { resultSchema } from '../verdict/resultDocument.ts';
import { resultWords } from './resultWords.ts';

/** The dot keeps it out of lists of runs. */
const FOLDER = '.films';
const KEPT_NAME = /^[0-9a-f]{16}\/[A-Za-z0-9_-][A-Za-z0-9._-]*$/;
const BY_HAND = 'give the films to `steerworthy optical` on the command line';
const ENDED = `This computer ended the reading in the middle: was its memory full? Close other programs and judge again, or ${BY_HAND}.`;
/** Enough for what a command says about one file after the other. */
const MOST_WORDS = 20_000;

export type FilmDeskOptions = {
	readonly root: string;
	/** Program and words before `optical`. */
	readonly program: readonly string[];
	/** By whose lines it is judged, as the command names them; null: the standard ones. */
	readonly criteria: string | null;
	readonly newRunId: () => string;
};

export class FilmDesk {
	readonly #options: FilmDeskOptions;
	#state: FilmState = { stage: 'idle' };
	#child: ChildProcess | null = null;
	#stopped = false;

	constructor(options: FilmDeskOptions) {
		this.#options = options;
	}

	get state(): FilmState {
		return this.#state;
	}

	/** Keeps one file as it comes; gives the name by which an order names it. */
	async keep(name: string, bytes: AsyncIterable<Uint8Array>): Promise<string> {
		const safe =
			basename(name)
				.replace(/[^A-Za-z0-9._-]+/g, '-')
				.replace(/^\.+/, '') || 'film';
		const kept = `${randomBytes(8).toString('hex')}/${safe}`;
		const path = this.#pathOf(kept);
		await mkdir(dirname(path), { recursive: true });
		try {
			await pipeline(Readable.from(bytes), createWriteStream(path));
		} catch (cause) {
			await rm(dirname(path), { recursive: true, force: true });
			throw new OutsideFailure(
				'cannotWrite',
				`${safe} did not come whole.`,
				`Is there room on this laptop’s disk? Then choose the file again, or ${BY_HAND}.`,
				{ cause },
			);
		}
		return kept;
	}

	/** Begins at once and answers by `state`. Throws `RangeError` for an order that cannot be. */
	begin({ kit, place, films, recording, turnedAsMeant }: FilmOrder): void {
		if (this.#child !== null) throw new RangeError('Films are being read already. Wait, or stop that first.');
		const runId = this.#options.newRunId();
		const words = [
			...['optical', ...films.map((kept) => this.#stillHere(kept)), '--json', '--name', runId],
			...['--out', this.#options.root],
			...(kit === '' ? [] : [`--kit=${kit}`]),
			...(place === '' ? [] : [`--place=${place}`]),
			...(recording === null ? [] : ['--recording', this.#stillHere(recording)]),
			...(this.#options.criteria === null ? [] : [`--criteria=${this.#options.criteria}`]),
			...(turnedAsMeant ? ['--turned-as-meant'] : []),
		];
		const [program = '', ...before] = this.#options.program;
		this.#state = { stage: 'reading', words: 'looking at the first film' };
		const child = spawn(program, [...before, ...words], { stdio: ['ignore', 'pipe', 'pipe'] });
		this.#child = child;
		this.#stopped = false;
		if (child.pid !== undefined) setPriority(child.pid, constants.priority.PRIORITY_LOW);
		let document = '';
		let said = '';
		child.stdout.setEncoding('utf8').on('data', (text: string) => {
			document += text;
		});
		child.stderr.setEncoding('utf8').on('data', (text: string) => {
			said = `${said}${text}`.slice(-MOST_WORDS);
			const last = said.trimEnd().split('\n').at(-1) ?? '';
			if (/^\d+ % /.test(last)) this.#state = { stage: 'reading', words: last };
		});
		child.on('error', (failure) => this.#end({ stage: 'failed', words: failure.message }));
		child.on('close', (code, signal) => {
			if (signal !== null)
				this.#end({ stage: 'failed', words: this.#stopped ? 'Stopped.' : `${ENDED} (${signal})` });
			else this.#end(code === 0 ? concluded(document) : { stage: 'failed', words: troubleIn(said) });
		});
	}

	stop(): void {
		this.#stopped = true;
		this.#child?.kill();
	}

	/** What was dropped and not judged is gone when the console is. */
	async close(): Promise<void> {
		this.stop();
		await this.#empty();
	}

	#end(state: FilmState): void {
		this.#child = null;
		this.#state = state;
		if (state.stage === 'done') void this.#empty();
	}

	async #empty(): Promise<void> {
		await rm(join(this.#options.root, FOLDER), { recursive: true, force: true });
	}

	/** Only a name that was given out here. */
	#pathOf(kept: string): string {
		if (!KEPT_NAME.test(kept)) throw new RangeError('A film did not come whole: choose it again.');
		return join(this.#options.root, FOLDER, kept);
	}

	/** A page may stand open from before the console was started anew. */
	#stillHere(kept: string): string {
		const path = this.#pathOf(kept);
		if (!existsSync(path))
			throw new RangeError(`${basename(path)} is no longer here: leave it out and choose it again.`);
		return path;
	}
}

function concluded(document: string): FilmState {
	try {
		return { stage: 'done', result: resultWords(resultSchema.parse(JSON.parse(document))) };
	} catch {
		return {
			stage: 'failed',
			words: 'The films were judged, but the answer did not come whole: look among the runs and kits.',
		};
	}
}

/** What the command said besides how far it had come. */
function troubleIn(said: string): string {
	const lines = said.split('\n').filter((line) => line.trim() !== '' && !/^\d+ % /.test(line));
	return lines.join('\n') || `The films could not be judged, and nothing was said why: ${BY_HAND}.`;
}
