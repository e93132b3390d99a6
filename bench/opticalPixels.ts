/**
 * How good is the optical rig's reading of real files: invented clips with known truth, drawn as pictures, encoded by a real encoder, and read by the
 * path that `optical` takes. Goals: in each clip the error within the stated 95 % uncertainty, the tablet's orientation right, no wrong reading in an
 * observation, known losses counted exactly; in photographs no marker (only where Debian's python3-skimage is installed, or OPEN_PICTURES names a folder).
 *
 *     npx tsx bench/opticalPixels.ts [--quick] [--json] [--only WORD]
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { LumaPlane } from '../src/imaging/planes.ts';
import { openClip } from '../src/media/node/clip.ts';
import { decodeJpeg } from '../src/media/node/jpeg.ts';
import { decodePng } from '../src/media/node/png.ts';
import type { PieceMeasurement } from '../src/reading/clipMeasurement.ts';
import { findMarkers } from '../src/reading/markerFinder.ts';
import { posesOf } from '../src/reading/markerPoses.ts';
import { readOpticalClip } from '../src/rigs/optical/opticalClip.ts';
import { truePictures } from '../src/simulation/opticalPictures.ts';
import { type OpticalView, usualOpticalView } from '../src/simulation/opticalPixels.ts';
import type { OpticalSpec } from '../src/simulation/opticalSpec.ts';
import { opticalTruth } from '../src/simulation/opticalTruth.ts';
import { madeSpec } from '../tests/reading/madeClip.ts';
import { type FilmPlan, filmClip } from '../tests/rigs/optical/filmedClip.ts';
import { benchContext, printTable } from './benchReport.ts';

const Z = 1.96;
/** A frame's age lies between the true ages a little before and after it (exposure, crystals), give or take a tick of reading. */
const AROUND_MS = 25;
const WRONG_MS = 20;

type Face = OpticalView['laptop'];
type Case = {
	readonly name: string;
	readonly rates?: readonly [number, number, number];
	readonly spec?: (spec: OpticalSpec) => Partial<OpticalSpec>;
	readonly laptop?: Partial<Face>;
	readonly tablet?: Partial<Face>;
	readonly view?: Partial<OpticalView>;
	readonly film?: FilmPlan;
	readonly shown?: 'upright' | 'turned' | 'mirrored';
};

const CASES: readonly Case[] = [
	{ name: 'plain, H.264' },
	{ name: 'plain, HEVC', film: { codec: 'hevc' } },
	{ name: 'tilted, barrel', laptop: { tilt: 0.25 }, tablet: { tilt: 0.3, barrel: 0.35 } },
	{ name: 'mirrored tablet', tablet: { mirrored: true }, shown: 'mirrored' },
	{ name: 'turned by 75 degrees', tablet: { turnedDeg: 75, sidePx: 70 }, shown: 'turned' },
	{ name: 'held by hand', view: { shakePx: 5 } },
	{ name: 'low bitrate, 500 kbit/s', film: { bitrateKbps: 500 } },
	{ name: 'noise 12, blur 1.6 px', view: { noise: 12, blurPx: 1.6 } },
	{ name: 'a third of the contrast', tablet: { black: 80, white: 140 } },
	{
		name: 'stretched x 8 at 240',
		rates: [60, 30, 240],
		spec: ({ phone }) => ({ phone: { ...phone, stretch: 8 } }),
	},
	{
		name: 'missed refreshes, 2 and 8 %',
		spec: ({ laptop, tablet }) => ({
			laptop: { ...laptop, missedRatio: 0.02 },
			tablet: { ...tablet, missedRatio: 0.08 },
		}),
	},
	{ name: '5 % of the pictures lost', spec: ({ link }) => ({ link: { ...link, dropRatio: 0.05 } }) },
	{
		name: 'a freeze of 1.2 s',
		spec: ({ link }) => ({ link: { ...link, freezes: [{ fromMs: 3000, forMs: 1200 }] } }),
	},
	{ name: 'display 120 Hz, scope 25', rates: [120, 25, 120] },
	{ name: 'phone 60, scope 30', rates: [60, 30, 60] },
	{ name: 'in lock', spec: () => ({}), rates: [60, 30, 120] },
];

type Row = {
	readonly name: string;
	readonly ageErrorMs: number | null;
	readonly freshErrorMs: number | null;
	readonly uncertaintyMs: number;
	readonly wrong: number;
	readonly samples: number;
	readonly lost: string;
	readonly missed: readonly string[];
};

const options = process.argv.slice(2);
const quick = options.includes('--quick');
const onlyAt = options.indexOf('--only');
const only = onlyAt < 0 ? null : options[onlyAt + 1]!;
const chosen = CASES.filter(({ name }) => only === null || name.includes(only)).slice(
	0,
	quick ? 2 : undefined,
);
const rows: Row[] = [];
for (const each of chosen) {
	process.stderr.write(`${each.name}\n`);
	// A case keeps its seed when it is run alone.
	rows.push(await judgeCase(each, CASES.indexOf(each) + 1));
}
const photographs = only === null ? lookAtPhotographs() : null;
report();

async function judgeCase(each: Case, seed: number): Promise<Row> {
	const rates = each.rates ?? ([60, 30, 120] as const);
	const mode = each.name === 'in lock' ? 'lock' : 'drift';
	const plain = madeSpec(rates, seed, { mode, durationMs: quick ? 5600 : 7000 });
	const spec = { ...plain, ...each.spec?.(plain) };
	const film = await filmClip(spec, viewOf(each), each.film);
	const open = () => openClip(film.path, { decoder: 'auto' });
	const clip = await readOpticalClip({ name: each.name, open, progress: () => {} });
	if (clip.kind !== 'clip') return unread(each.name, clip.explanation);
	const [piece] = clip.measured.pieces;
	const { from, until } = piece!.piece;
	const truth = opticalTruth(spec, film.trueMs[from]!, film.trueMs[until - 1]!);
	const uncertaintyMs = Z * piece!.budget.standardMs;
	const ageErrorMs = piece!.meanAgeMs - truth.meanAgeMs;
	const freshErrorMs = piece!.freshDelayMs - truth.freshDelayMs;
	const wrong = wrongSamples(spec, piece!, film.trueMs[from]!);
	const missed: string[] = [];
	if (Math.abs(ageErrorMs) > uncertaintyMs) missed.push('age beyond its uncertainty');
	if (Math.abs(freshErrorMs) > uncertaintyMs) missed.push('delay beyond its uncertainty');
	if (wrong > 0) missed.push(`${wrong} wrong readings`);
	const shown = each.shown ?? 'upright';
	if (clip.measured.orientation.shown !== shown) missed.push(`seen as ${clip.measured.orientation.shown}`);
	if (clip.measured.pieces.length !== 1) missed.push(`${clip.measured.pieces.length} pieces`);
	const trueLost = lostBetween(spec, piece!, film.trueMs[from]!);
	if (piece!.lostSlots !== null && piece!.lostSlots !== trueLost) missed.push('losses miscounted');
	return {
		...{ name: each.name, ageErrorMs, freshErrorMs, uncertaintyMs, wrong, samples: piece!.samples.length },
		lost: `${piece!.lostSlots ?? 'not counted'} / ${trueLost}`,
		missed,
	};
}

function viewOf({ laptop, tablet, view }: Case): Partial<OpticalView> {
	const small = { widthPx: 320, heightPx: 180 };
	return {
		...small,
		laptop: { ...usualOpticalView.laptop, middleXPx: 82, middleYPx: 90, sidePx: 86, ...laptop },
		tablet: { ...usualOpticalView.tablet, middleXPx: 236, middleYPx: 90, sidePx: 80, ...tablet },
		...view,
	};
}

type Shown = { readonly slot: number; readonly contentMs: number; readonly centroidMs: number };

function shownOf(spec: OpticalSpec): Shown[] {
	return truePictures(spec).flatMap(({ slot, contentMs, refreshMs }) =>
		refreshMs === null ? [] : [{ slot, contentMs, centroidMs: refreshMs + spec.tablet.responseMs }],
	);
}

/** Samples outside all true ages round their instant. */
function wrongSamples(spec: OpticalSpec, { samples, budget }: PieceMeasurement, fromMs: number): number {
	const shown = shownOf(spec);
	const beyond = WRONG_MS + Z * budget.standardMs;
	return samples.filter(({ atMs, ageMs }) => {
		const at = fromMs + atMs;
		const near = shown.filter(
			({ centroidMs }, i) =>
				centroidMs <= at + AROUND_MS &&
				(shown[i + 1]?.centroidMs ?? Number.POSITIVE_INFINITY) > at - AROUND_MS,
		);
		const ages = near.map(({ contentMs }) => at - contentMs);
		return ageMs < Math.min(...ages) - beyond || ageMs > Math.max(...ages) + beyond;
	}).length;
}

/** Between the first and the last picture that the reading holds, by content. */
function lostBetween(spec: OpticalSpec, { shown: { pictures } }: PieceMeasurement, fromMs: number): number {
	const all = shownOf(spec);
	const nearest = (contentMs: number) =>
		all.reduce((a, b) => (Math.abs(b.contentMs - contentMs) < Math.abs(a.contentMs - contentMs) ? b : a));
	const first = nearest(fromMs + (pictures[0]?.contentMs ?? 0));
	const last = nearest(fromMs + (pictures.at(-1)?.contentMs ?? 0));
	const between = all.filter(({ slot }) => slot >= first.slot && slot <= last.slot);
	return last.slot - first.slot + 1 - between.length;
}

function unread(name: string, why: string): Row {
	const nothing = { ageErrorMs: null, freshErrorMs: null, uncertaintyMs: 0, wrong: 0, samples: 0, lost: '' };
	return { name, ...nothing, missed: [why] };
}

type Photographs = { readonly files: number; readonly variants: number; readonly markers: number } | null;

/** Each photograph at three scales: anything that is read as a marker is a false one. */
function lookAtPhotographs(): Photographs {
	const folder = process.env['OPEN_PICTURES'] ?? '/usr/lib/python3/dist-packages/skimage/data';
	if (!existsSync(folder)) return null;
	const names = readdirSync(folder).filter((name) => /\.(png|jpe?g)$/i.test(name));
	let [variants, markers, files] = [0, 0, 0];
	for (const name of names) {
		const luma = photographOf(join(folder, name));
		if (luma === null) continue;
		files++;
		for (const every of [1, 2, 3]) {
			const small = thinned(luma, every);
			if (small.widthPx < 64 || small.heightPx < 64) continue;
			variants++;
			markers += findMarkers(small).flatMap((quad) => posesOf(small, quad)).length;
		}
	}
	return { files, variants, markers };
}

function photographOf(path: string): LumaPlane | null {
	try {
		const bytes = readFileSync(path);
		const { rgba, widthPx, heightPx } = /\.png$/i.test(path) ? decodePng(bytes) : decodeJpeg(bytes);
		const data = new Uint8Array(widthPx * heightPx);
		for (let i = 0; i < data.length; i++)
			data[i] = Math.round(0.2126 * rgba[4 * i]! + 0.7152 * rgba[4 * i + 1]! + 0.0722 * rgba[4 * i + 2]!);
		return { data, stride: widthPx, widthPx, heightPx };
	} catch {
		// 16-bit and other kinds that the bench does not read are no photographs of its set.
		return null;
	}
}

function thinned({ data, stride, widthPx, heightPx }: LumaPlane, every: number): LumaPlane {
	const [width, height] = [Math.floor(widthPx / every), Math.floor(heightPx / every)];
	const out = Uint8Array.from({ length: width * height }, (_, i) => {
		const [x, y] = [i % width, Math.floor(i / width)];
		return data[y * every * stride + x * every]!;
	});
	return { data: out, stride: width, widthPx: width, heightPx: height };
}

function report(): void {
	const missed = rows.flatMap((row) => row.missed.map((each) => `${row.name}: ${each}`));
	if (photographs !== null && photographs.markers > 0)
		missed.push(`${photographs.markers} markers seen in photographs`);
	process.exitCode = missed.length > 0 ? 1 : 0;
	const context = benchContext();
	if (options.includes('--json')) {
		process.stdout.write(`${JSON.stringify({ ...context, rows, photographs, missed }, null, '\t')}\n`);
		return;
	}
	console.log(
		`Optical reading, real files: ${rows.length} clips of ${quick ? 5.6 : 7} s, each of its own seed`,
	);
	console.log(
		`commit ${context.commit}, Node ${context.node}, ${context.cpu}, load ${context.loadAverage}\n`,
	);
	printTable(
		rows.map((row) => ({
			clip: row.name,
			'age error ms': row.ageErrorMs?.toFixed(2) ?? 'unread',
			'delay error ms': row.freshErrorMs?.toFixed(2) ?? 'unread',
			'stated 95 % ms': row.uncertaintyMs.toFixed(2),
			'wrong readings': `${row.wrong} of ${row.samples}`,
			'lost, read / true': row.lost,
		})),
	);
	console.log(
		photographs === null
			? '\nPhotographs: NOT RUN (python3-skimage is not installed, OPEN_PICTURES names no folder).'
			: `\nPhotographs: ${photographs.files} files, ${photographs.variants} variants, ${photographs.markers} markers seen.`,
	);
	console.log(
		missed.length === 0 ? 'Every goal met.' : `Missed:\n${missed.map((each) => `- ${each}`).join('\n')}`,
	);
}
