/** A ZIP written piece by piece, so that a long clip is never in memory twice. Pictures and clips are stored, words deflated. */
import { createHash } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { Zip, ZipDeflate, ZipPassThrough } from 'fflate';

const PACKED_ALREADY = /\.(jpe?g|png|mp4|mov|m4v|webm|mkv)$/i;
const PIECE_BYTES = 1 << 20;

export type ZipEntry = { readonly name: string; readonly bytes: Uint8Array };

/** Gives the size of the whole. `at`: the time stamped on every file. */
export async function writeZip(path: string, entries: Iterable<ZipEntry>, at: Date): Promise<number> {
	const stream = createWriteStream(path, { flags: 'wx' });
	let byteCount = 0;
	const written = new Promise<void>((resolve, reject) => {
		stream.once('error', reject);
		stream.once('finish', resolve);
	});
	const zip = new Zip((error, chunk, final) => {
		if (error !== null) stream.destroy(error);
		else {
			byteCount += chunk.length;
			stream.write(chunk);
			if (final) stream.end();
		}
	});
	for (const { name, bytes } of entries) {
		const file = PACKED_ALREADY.test(name) ? new ZipPassThrough(name) : new ZipDeflate(name, { level: 6 });
		file.mtime = at;
		zip.add(file);
		for (let from = 0; from < bytes.length || from === 0; from += PIECE_BYTES)
			file.push(bytes.subarray(from, from + PIECE_BYTES), from + PIECE_BYTES >= bytes.length);
		if (stream.writableNeedDrain) await new Promise<void>((resolve) => stream.once('drain', resolve));
	}
	zip.end();
	await written;
	return byteCount;
}

export function sha256Of(bytes: Uint8Array): string {
	return createHash('sha256').update(bytes).digest('hex');
}
