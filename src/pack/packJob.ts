/** A pack as it is asked for, by command or page: files read, made smaller where asked, the run's reading joined, all put together. */
import { readdir, readFile, stat } from 'node:fs/promises';
import { basename, extname, join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import { runFaults } from '../register/integrity.ts';
import { REPORT_FILE, RESULT_FILE } from '../register/runFolder.ts';
import { readRunRow } from '../register/runRow.ts';
import { formatMs, formatNumber } from '../report/numbers.ts';
import { type Case, PATIENT_WARNING, type Reading } from './coverPage.ts';
import { type GivenFile, type Packed, packCase } from './packCase.ts';
import { smallerClip } from './smallerClip.ts';

/** More than this is no pack to send, and would not fit into memory on a small laptop. */
export const MOST_BYTES = 2 ** 30;
const CLIP = /\.(mp4|mov|m4v|mkv|webm|avi)$/i;
const PICTURE = /\.(mp4|mov|m4v|mkv|webm|avi|jpe?g|png)$/i;
export const ORIGINAL_ANSWERS = ['yes', 'no', 'not known'] as const;
export const SEDATED_ANSWERS = ['yes', 'no', 'not stated'] as const;

export type PackJob = {
	/** The ZIP to write. */
	readonly out: string;
	/** Clips and stills, by their paths; of a folder all that lie in it. */
	readonly pictures: readonly string[];
	readonly about: Omit<Case, 'encoding'>;
	/** Whether the files are as the kit wrote them. */
	readonly original: (typeof ORIGINAL_ANSWERS)[number];
	/** Folder of the run whose reading they were made under. */
	readonly run: string | null;
	readonly keepLocation: boolean;
	/** Megabytes that each clip may have; null: as it is. */
	readonly smaller: number | null;
	readonly at: Date;
	readonly toolVersion: string;
};

/**
 * Throws `OutsideFailure` `pictureMissing`, `pictureTwice`, `pictureTooLarge`, `readingBroken`,
 * `cannotWrite`, or what packing and making smaller say.
 */
export async function makePack(job: PackJob): Promise<Packed> {
	const paths = (await Promise.all(job.pictures.map(picturesAt))).flat();
	const pictures = await Promise.all(paths.map((path) => readPicture(path, job.smaller)));
	if (new Set(pictures.map(({ name }) => name)).size !== pictures.length)
		throw new OutsideFailure('pictureTwice', 'Two of the files go by one name.', 'Rename one of them.');
	return packCase({
		path: job.out,
		about: { ...job.about, encoding: encodingWords(job) },
		pictures,
		reading: job.run === null ? null : await readReading(job.run),
		...{ keepLocation: job.keepLocation, at: job.at, toolVersion: job.toolVersion },
	}).catch((cause) => {
		if (!['EEXIST', 'ENOENT', 'EACCES', 'ENOSPC'].includes((cause as NodeJS.ErrnoException).code ?? ''))
			throw cause;
		throw new OutsideFailure(
			'cannotWrite',
			`${job.out} could not be written, or is there already.`,
			'Choose another name for the pack, or check folder and disk.',
			{ cause },
		);
	});
}

/** What came of it, line by line. `uplink`, Mbit/s: the user's own figure; without one no time is told. */
export function packedWords(
	{ byteCount, files, notes }: Packed,
	out: string,
	uplink: number | null,
): string[] {
	const megabytes = byteCount / 1e6;
	return [
		`${out}: ${files.length} ${files.length === 1 ? 'picture' : 'pictures'}, ${formatNumber(megabytes, 1)} MB`,
		...files.map(({ name, location }) => `- ${name}: place it was taken at: ${location}`),
		...notes.map((note) => `- ${note}`),
		`! ${PATIENT_WARNING}`,
		...(uplink === null
			? []
			: [
					`At ${uplink} Mbit/s up, as you state: about ${Math.ceil((megabytes * 8) / uplink / 60)} min to send.`,
				]),
	];
}

async function picturesAt(path: string): Promise<string[]> {
	const found = await stat(path).catch(() => null);
	if (found?.isDirectory() !== true) return [path];
	const inside = (await readdir(path)).filter((name) => PICTURE.test(name)).sort();
	if (inside.length === 0)
		throw new OutsideFailure(
			'pictureMissing',
			`${path} holds no clip and no still.`,
			'Choose another folder, or the files one by one.',
		);
	return inside.map((name) => join(path, name));
}

async function readPicture(path: string, smaller: number | null): Promise<GivenFile> {
	const found = await stat(path).catch(() => null);
	if (found?.isFile() !== true)
		throw new OutsideFailure('pictureMissing', `${path} is no file that could be read.`, 'Check the path.');
	if (found.size > MOST_BYTES)
		throw new OutsideFailure(
			'pictureTooLarge',
			`${path} has ${formatNumber(found.size / 1e6)} MB; a pack takes ${formatNumber(MOST_BYTES / 1e6)} MB a file.`,
			'Cut the clip to what is asked about.',
		);
	const bytes = await readFile(path);
	const name = basename(path).replace(/[^A-Za-z0-9._-]+/g, '-');
	if (smaller === null || !CLIP.test(name)) return { name, bytes };
	return {
		name: `${basename(name, extname(name))}-smaller.mp4`,
		bytes: await smallerClip(bytes, { megabytes: smaller }),
	};
}

function encodingWords({ original, smaller }: PackJob): string {
	if (smaller !== null) return `re-encoded to ${smaller} MB or less: colour and fine detail have suffered`;
	if (original === 'yes') return 'original, as the kit wrote them';
	return original === 'no' ? 're-encoded' : 'not known whether original or re-encoded';
}

async function readReading(folder: string) {
	const { facts, trouble } = await readRunRow('', folder, '');
	const [fault] = facts === null ? [trouble ?? 'it cannot be read'] : await runFaults(folder, null);
	if (facts === null || fault !== undefined)
		throw new OutsideFailure(
			'readingBroken',
			`The run cannot be given along. ${fault}`,
			'Judge it again, or leave --run out.',
		);
	const told: Reading = {
		headline: facts.headline,
		subject: facts.subject,
		runId: facts.runId,
		startedAt: facts.startedAt,
		figures: readingFigures(facts.figures),
	};
	const [json, html] = await Promise.all(
		[RESULT_FILE, REPORT_FILE].map((name) => readFile(join(folder, name))),
	);
	if (json === undefined || html === undefined)
		throw new RangeError('a sealed run has a result and a report');
	return { told, json, html };
}

function readingFigures(figures: Readonly<Record<string, number>>): (readonly [string, string])[] {
	const rows: (readonly [string, string, (value: number) => string])[] = [
		['colour.medianDeltaE00', 'colour shift, middle patch', (value) => formatNumber(value, 1)],
		['colour.p95DeltaE00', 'colour shift, worst patches', (value) => formatNumber(value, 1)],
		['freshDelay.medianMs', 'delay, median', formatMs],
		['likeness.medianSsim', 'likeness to the card (SSIM)', (value) => formatNumber(value, 3)],
	];
	return rows.flatMap(([path, label, words]) => {
		const value = figures[path];
		return value === undefined ? [] : [[label, words(value)] as const];
	});
}
