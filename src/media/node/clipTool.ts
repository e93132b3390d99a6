/**
 * Clips read by `ffprobe` and `ffmpeg` (5.1 or later) found on the PATH: the second back end, for where the codec package is not
 * installed, and a second opinion beside it.
 *
 * Pictures come through a pipe in the file's own pixel layout (asking for grey would rescale the range). Their times come from the
 * `showinfo` filter, which prints one line a decoded picture, in the same order: no pairing of packets with pictures is needed.
 */
import { type ChildProcessByStdio, execFile, spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import type { Readable } from 'node:stream';
import { promisify } from 'node:util';
import { z } from 'zod';
import { OutsideFailure } from '../../failure.ts';
import type { ClipFrame, ClipInfo, ClipSource } from '../../imaging/clipFrame.ts';
import { clipIsStill, clipNoPicture, clipNotVideo, codecNotHere, nothingDecoded } from './clipFailures.ts';
import { encodingOf, transferOf, turningOf } from './clipInfo.ts';
import { createNoteKeeper, type NoteKeeper } from './clipNotes.ts';
import { type CodedPicture, createPlaneMaker, type PixelLayout, pixelLayoutNamed } from './pixelFormats.ts';

const READ_BY = 'ffmpeg on the PATH';
const run = promisify(execFile);

/** Throws `OutsideFailure`: `decoderMissing` when the two programs are not there, else by the names of `clipFailures.ts`. */
export async function openToolClip(path: string): Promise<ClipSource> {
	const { info, layout } = await probe(path);
	const notes = createNoteKeeper(info);
	let child: Decoding | null = null;
	return {
		info,
		readBy: READ_BY,
		notes: notes.list,
		frames() {
			child = startDecoding(path, layout);
			return walk({ child, path, info, layout }, notes);
		},
		close: () => void child?.kill(),
	};
}

type Decoding = ChildProcessByStdio<null, Readable, Readable>;

const whole = z.coerce.number().int().positive();
const streamSchema = z.object({
	codec_name: z.string().default('an unknown codec'),
	width: z.number().int().nonnegative().default(0),
	height: z.number().int().nonnegative().default(0),
	pix_fmt: z.string().default('unknown'),
	time_base: z.string().regex(/^\d+\/\d+$/),
	nb_frames: whole.optional(),
	duration: z.coerce.number().positive().optional(),
	color_range: z.string().optional(),
	color_space: z.string().optional(),
	color_transfer: z.string().optional(),
	disposition: z.object({ attached_pic: z.number() }).optional(),
	side_data_list: z.array(z.object({ displaymatrix: z.string().optional() })).optional(),
});
const probeSchema = z.object({
	streams: z.array(streamSchema),
	format: z.object({ format_name: z.string(), duration: z.coerce.number().positive().optional() }),
});

async function probe(path: string): Promise<{ info: ClipInfo; layout: PixelLayout }> {
	const args = ['-v', 'error', '-select_streams', 'v', '-show_streams', '-show_format', '-of', 'json', path];
	const { stdout } = await run('ffprobe', args, { maxBuffer: 1 << 24 }).catch(
		(cause: NodeJS.ErrnoException) => {
			throw cause.code === 'ENOENT' ? toolMissing(cause) : clipNotVideo(path);
		},
	);
	const said = probeSchema.safeParse(JSON.parse(stdout));
	if (!said.success || said.data.format.format_name === 'tty') throw clipNotVideo(path);
	const { streams, format } = said.data;
	if (/^image2|_pipe$|^gif$/.test(format.format_name)) throw clipIsStill(path);
	const stream = streams.find(({ disposition }) => disposition?.attached_pic !== 1);
	if (stream === undefined) throw clipNoPicture(path);
	const layout = pixelLayoutNamed(stream.pix_fmt);
	if (layout === null)
		throw codecNotHere(path, `${stream.codec_name} with pixels of the kind ${stream.pix_fmt}`, READ_BY);
	return { info: infoOf(stream, layout, format), layout };
}

/** H.273's numbers of what ffprobe says in words. */
const spaces: Readonly<Record<string, number>> = { bt709: 1, bt470bg: 5, smpte170m: 6, bt2020nc: 9 };
const transfers: Readonly<Record<string, number>> = { smpte2084: 16, 'arib-std-b67': 18 };

function infoOf(
	stream: z.infer<typeof streamSchema>,
	layout: PixelLayout,
	format: z.infer<typeof probeSchema>['format'],
): ClipInfo {
	const [num = 0, den = 1] = stream.time_base.split('/').map(Number);
	const seconds = stream.duration ?? format.duration;
	const matrix = stream.side_data_list?.find(({ displaymatrix }) => displaymatrix !== undefined);
	return {
		codec: stream.codec_name,
		widthPx: stream.width,
		heightPx: stream.height,
		bitDepth: layout.bitDepth,
		encoding: encodingOf({
			space: spaces[stream.color_space ?? ''] ?? 2,
			range: stream.color_range === 'pc' ? 2 : 1,
			fullByFormat: layout.full,
			heightPx: stream.height,
		}),
		transfer: transferOf(transfers[stream.color_transfer ?? ''] ?? 1),
		timeBase: { num, den },
		...turningOf(printedMatrix(matrix?.displaymatrix)),
		declaredCount: stream.nb_frames ?? null,
		declaredMs: seconds === undefined ? null : seconds * 1000,
		container: format.format_name,
	};
}

/** Lines like "00000000:            0       65536           0". */
function printedMatrix(text: string | undefined): number[] | null {
	if (text === undefined) return null;
	return text
		.split('\n')
		.flatMap((line) =>
			line
				.replace(/^\s*[0-9a-f]{8}:/, '')
				.trim()
				.split(/\s+/),
		)
		.filter((word) => word !== '')
		.map(Number);
}

function toolMissing(cause: unknown): OutsideFailure {
	return new OutsideFailure(
		'decoderMissing',
		'Nothing here can decode video: neither the optional codec package nor ffmpeg on the PATH.',
		'Run `npm install` with optional packages (without --omit=optional), or install ffmpeg 5.1 or later.',
		{ cause },
	);
}

function startDecoding(path: string, { name }: PixelLayout): Decoding {
	return spawn(
		'ffmpeg',
		[
			...[
				'-hide_banner',
				'-nostdin',
				'-nostats',
				'-loglevel',
				'info',
				'-noautorotate',
				'-copyts',
				'-i',
				path,
			],
			...['-map', '0:v:0', '-vf', 'showinfo=checksum=0', '-fps_mode', 'passthrough'],
			...['-f', 'rawvideo', '-pix_fmt', name, 'pipe:1'],
		],
		{ stdio: ['ignore', 'pipe', 'pipe'] },
	);
}

type Walk = {
	readonly child: Decoding;
	readonly path: string;
	readonly info: ClipInfo;
	readonly layout: PixelLayout;
};

async function* walk({ child, path, info, layout }: Walk, notes: NoteKeeper): AsyncGenerator<ClipFrame> {
	const times = timesFrom(child);
	const plan = planePlan(info, layout);
	const bytes = Buffer.alloc(plan.byteCount);
	const maker = createPlaneMaker();
	let filled = 0;
	let count = 0;
	for await (const chunk of child.stdout as AsyncIterable<Buffer>) {
		for (let from = 0; from < chunk.length; ) {
			const taken = chunk.copy(bytes, filled, from);
			from += taken;
			filled += taken;
			if (filled < bytes.length) continue;
			filled = 0;
			notes.packet();
			count++;
			const ticks = await times.next();
			if (!notes.take(ticks) || ticks === null) continue;
			const picture = plan.pictureIn(bytes);
			yield {
				ticks,
				luma: maker.luma(picture),
				planes: () => maker.planes(picture),
				damaged: false,
			};
		}
	}
	if (times.stumbled()) notes.broken();
	notes.end();
	if (count === 0) throw nothingDecoded(path);
}

/** Times in the order of the pictures, from what ffmpeg prints. */
function timesFrom(child: Decoding) {
	const waiting: ((ticks: number | null) => void)[] = [];
	const ready: (number | null)[] = [];
	let [ended, stumbled] = [false, false];
	const lines = createInterface({ input: child.stderr });
	lines.on('line', (line) => {
		const found = /\bn:\s*\d+ pts:\s*(\S+)/.exec(line);
		if (found === null) {
			if (/corrupt|error while decoding|invalid data|concealing/i.test(line)) stumbled = true;
			return;
		}
		const ticks = Number(found[1]);
		const value = Number.isSafeInteger(ticks) ? ticks : null;
		const next = waiting.shift();
		if (next === undefined) ready.push(value);
		else next(value);
	});
	lines.on('close', () => {
		ended = true;
		for (const next of waiting.splice(0)) next(null);
	});
	return {
		next(): Promise<number | null> {
			const first = ready.shift();
			if (first !== undefined) return Promise.resolve(first);
			return ended ? Promise.resolve(null) : new Promise((resolve) => waiting.push(resolve));
		},
		stumbled: () => stumbled,
	};
}

/** Where each plane lies in the bytes of one picture, as ffmpeg packs them: rows without padding. */
function planePlan({ widthPx, heightPx }: ClipInfo, layout: PixelLayout) {
	const bytes = layout.bitDepth > 8 ? 2 : 1;
	const sides: [number, number][] = [[widthPx, heightPx]];
	if (layout.chroma !== null) {
		const { across, down, pairs } = layout.chroma;
		const [wide, high] = [Math.ceil(widthPx / across), Math.ceil(heightPx / down)];
		sides.push(
			...(pairs
				? [[2 * wide, high] as [number, number]]
				: ([
						[wide, high],
						[wide, high],
					] as [number, number][])),
		);
	}
	const starts = sides.map((_, i) => sides.slice(0, i).reduce((sum, [w, h]) => sum + w * h * bytes, 0));
	const strides = sides.map(([w]) => w * bytes);
	return {
		byteCount: sides.reduce((sum, [w, h]) => sum + w * h * bytes, 0),
		pictureIn: (buffer: Uint8Array): CodedPicture => ({
			widthPx,
			heightPx,
			layout,
			data: starts.map((start, i) => buffer.subarray(start, start + sides[i]![0] * sides[i]![1] * bytes)),
			strides,
		}),
	};
}
