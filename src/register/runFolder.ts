/**
 * A run on disk: a plain folder that can be copied, synced and mailed. Observations are appended as they come, so that
 * a computer that dies in the middle leaves everything up to then.
 */
import { createReadStream, createWriteStream, type WriteStream } from 'node:fs';
import { mkdir, rmdir, stat, unlink, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { OutsideFailure } from '../failure.ts';
import type { ObservationRecord } from '../observations/records.ts';
import { formatRecord } from '../observations/recordText.ts';
import type { Run } from '../observations/run.ts';
import { RunReader } from '../observations/runReader.ts';

export const OBSERVATIONS_FILE = 'observations.jsonl';
/** Observations of the kit's own recording, in an optical session's folder. */
export const RECORDING_FILE = 'recording.jsonl';
/** What a reference run saw of the card, laid into the folder of the run that is set beside it. */
export const REFERENCE_FILE = 'reference.jsonl';
export const RESULT_FILE = 'result.json';
export const REPORT_FILE = 'report.html';

/** A folder that is being written; `close` waits until everything is on disk. */
export class RunFolder {
	readonly path: string;
	readonly #observations: WriteStream;
	#isEmpty = true;

	private constructor(path: string, observations: WriteStream) {
		this.path = path;
		this.#observations = observations;
	}

	/** Makes `root/name`; throws `OutsideFailure` `runExists` or `cannotWrite`. */
	static async create(root: string, name: string): Promise<RunFolder> {
		const path = join(root, name);
		try {
			await mkdir(root, { recursive: true });
			await mkdir(path);
		} catch (cause) {
			const exists = (cause as NodeJS.ErrnoException).code === 'EEXIST';
			throw exists
				? new OutsideFailure('runExists', `${path} is there already.`, 'Choose another name with --name.', {
						cause,
					})
				: new OutsideFailure(
						'cannotWrite',
						`${path} could not be made.`,
						'Check the disk and the folder given with --out.',
						{
							cause,
						},
					);
		}
		return new RunFolder(path, createWriteStream(join(path, OBSERVATIONS_FILE)));
	}

	/** Appends one record; false when the disk is behind, and `drained` then waits for it. */
	append(record: ObservationRecord): boolean {
		this.#isEmpty = false;
		return this.#observations.write(`${formatRecord(record)}\n`);
	}

	drained(): Promise<void> {
		return new Promise((resolve) => {
			if (this.#observations.writableNeedDrain) this.#observations.once('drain', resolve);
			else resolve();
		});
	}

	/** A folder in which nothing was written is taken away again: there is no run in it, and a list of runs would call it damaged. */
	async close(): Promise<void> {
		await new Promise((resolve, reject) => {
			this.#observations.once('error', reject);
			this.#observations.end(resolve);
		});
		if (!this.#isEmpty) return;
		await unlink(join(this.path, OBSERVATIONS_FILE));
		// Another file in it is somebody's: then it stays.
		await rmdir(this.path).catch(() => {});
	}
}

/** Writes one file into a run folder, whole or in pieces. */
export async function writeRunFile(
	folder: string,
	name: string,
	content: string | Uint8Array | Iterable<string>,
): Promise<void> {
	await writeFile(join(folder, name), content);
}

/** Reads a run folder's observations line by line. Throws `OutsideFailure` `noRun`, or what the reader says of the file. */
export async function readRunFolder(folder: string): Promise<Run> {
	const path = join(folder, OBSERVATIONS_FILE);
	if (!(await isFile(path)))
		throw new OutsideFailure(
			'noRun',
			`${folder} holds no ${OBSERVATIONS_FILE}.`,
			'Give the folder of one run; `steerworthy runs` lists them.',
		);
	return readObservations(path);
}

/** The kit's own recording that belongs to the run; null where there is none. Throws what the reader says of the file. */
export async function readJoinedRecording(folder: string): Promise<Run | null> {
	const path = join(folder, RECORDING_FILE);
	return (await isFile(path)) ? readObservations(path) : null;
}

/** What the reference run saw, where the run was set beside one; null where not. Throws what the reader says of the file. */
export async function readReference(folder: string): Promise<Run | null> {
	const path = join(folder, REFERENCE_FILE);
	return (await isFile(path)) ? readObservations(path) : null;
}

async function isFile(path: string): Promise<boolean> {
	const found = await stat(path).catch(() => null);
	return found?.isFile() === true;
}

async function readObservations(path: string): Promise<Run> {
	const reader = new RunReader();
	for await (const line of createInterface({
		input: createReadStream(path),
		crlfDelay: Number.POSITIVE_INFINITY,
	}))
		reader.feedLine(line);
	return reader.finish();
}
