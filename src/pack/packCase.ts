/** A second-opinion pack put together: pictures without their place, cover, hashes, the reading they were made under. */
import { OutsideFailure } from '../failure.ts';
import { type Case, type PackedFile, type Reading, renderCover } from './coverPage.ts';
import { type LocationReading, withoutLocation } from './location.ts';
import { sha256Of, writeZip, type ZipEntry } from './zipFile.ts';

export type GivenFile = { readonly name: string; readonly bytes: Uint8Array };

export type Packed = {
	readonly byteCount: number;
	readonly files: readonly PackedFile[];
	readonly notes: readonly string[];
};

type PackOptions = {
	readonly path: string;
	readonly about: Case;
	readonly pictures: readonly GivenFile[];
	/** Result and report of the run, with what the cover tells of them; null: none was given. */
	readonly reading: { readonly told: Reading; readonly json: Uint8Array; readonly html: Uint8Array } | null;
	readonly keepLocation: boolean;
	readonly at: Date;
	readonly toolVersion: string;
};

/**
 * Writes the ZIP. Throws `RangeError` when two pictures go by one name; `OutsideFailure` `placeStays` when a position was found that
 * cannot be taken out, and was not asked to stay.
 */
export async function packCase(options: PackOptions): Promise<Packed> {
	const { pictures, keepLocation, reading, about, toolVersion } = options;
	if (new Set(pictures.map(({ name }) => name)).size !== pictures.length)
		throw new RangeError('two pictures of a pack go by one name');
	const looked = pictures.map(({ name, bytes }) => ({
		name,
		original: bytes,
		reading: withoutLocation(bytes),
	}));
	const stuck = looked.find(({ reading: place }) => place.found.length > 0 && !place.taken);
	if (stuck !== undefined && !keepLocation)
		throw new OutsideFailure(
			'placeStays',
			`${stuck.name} tells where it was taken, and nothing can be taken out of a file of this kind.`,
			'Make an MP4 of it (--smaller does), leave it out, or send the place along with --keep-location.',
		);
	const kept = looked.map(({ name, original, reading: place }) => ({
		name,
		bytes: keepLocation ? original : place.bytes,
		location: placeWords(place, keepLocation),
	}));
	const files = kept.map(({ name, bytes, location }) => ({
		name,
		byteCount: bytes.length,
		sha256: sha256Of(bytes),
		location,
	}));
	const notes = notesOf(
		looked.map((one) => one.reading),
		keepLocation,
	);
	const cover = renderCover({ about, files, reading: reading?.told ?? null, notes, toolVersion });
	const entries: ZipEntry[] = [
		{ name: 'index.html', bytes: Buffer.from(cover) },
		...kept,
		...(reading === null
			? []
			: [
					{ name: 'reading.json', bytes: reading.json },
					{ name: 'reading.html', bytes: reading.html },
				]),
	];
	const hashes = entries.map(({ name, bytes }) => `${sha256Of(bytes)}  ${name}\n`).join('');
	const all = [...entries, { name: 'hashes.txt', bytes: Buffer.from(hashes) }];
	return { byteCount: await writeZip(options.path, all, options.at), files, notes };
}

function placeWords({ kind, found }: LocationReading, keepLocation: boolean): string {
	if (kind === 'not looked through' && found.length === 0)
		return 'NOT looked through: this kind of file is not known';
	if (found.length === 0) return 'none found';
	return `${found.join(', ')}: ${keepLocation ? 'LEFT IN, as asked' : 'taken out'}`;
}

function notesOf(readings: readonly LocationReading[], keepLocation: boolean): string[] {
	const found = readings.some((one) => one.found.length > 0);
	return [
		...(found && keepLocation ? ['Where the pictures were taken was left in, as asked.'] : []),
		'Looked through for a place: JPEG, PNG, HEIC, AVIF, MP4 and MOV, where cameras and phones write it; tracks of data beside picture and sound are emptied whole. Not looked through: other kinds of file, makers’ own boxes, and what can be seen or heard in the pictures.',
		'Other metadata (date, model of the camera) stands as it was.',
	];
}
