import { statSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import type { LumaPlane } from '../../../src/imaging/planes.ts';
import { openClip } from '../../../src/media/node/clip.ts';
import { readOpticalClip } from '../../../src/rigs/optical/opticalClip.ts';
import { opticalTruth } from '../../../src/simulation/opticalTruth.ts';
import { newFolder } from '../../media/madeClips.ts';
import { madeSpec } from '../../reading/madeClip.ts';
import { drawClip, trueMeanAgeMs } from './drawnClip.ts';
import { filmClip } from './filmedClip.ts';
import { judgeFilmed } from './filmedSession.ts';

function read(path: string) {
	const open = () => openClip(path, { decoder: 'auto' });
	return readOpticalClip({ name: 'clip.mp4', open, progress: () => {} });
}

async function measured(path: string) {
	const clip = await read(path);
	if (clip.kind !== 'clip') throw new Error(clip.explanation);
	return clip;
}

async function refused(path: string) {
	const clip = await read(path);
	if (clip.kind === 'clip') throw new Error('it was measured');
	return clip;
}

const face = { turnedDeg: 0, tilt: 0, mirrored: false, barrel: 0, black: 28, white: 214 };
const smallView = {
	...{ widthPx: 192, heightPx: 108, noise: 4 },
	laptop: { ...face, middleXPx: 48, middleYPx: 54, sidePx: 76, tilt: 0.1 },
	tablet: { ...face, middleXPx: 142, middleYPx: 54, sidePx: 76, barrel: 0.2 },
};

test('simulated optics through real H.264 give the true age within the stated uncertainty', async () => {
	const spec = madeSpec([60, 30, 60], 3, { durationMs: 5300 });
	const film = await filmClip(spec, smallView);
	const { measured: clip } = await measured(film.path);
	const [piece] = clip.pieces;
	const { from, until } = piece!.piece;
	const truth = opticalTruth(spec, film.trueMs[from]!, film.trueMs[until - 1]!);
	expect(Math.abs(piece!.meanAgeMs - truth.meanAgeMs)).toBeLessThan(1.96 * piece!.budget.standardMs);
	expect(clip.orientation.shown).toBe('upright');
	expect(clip.session).toBe(5);
});

test('a clip stored eight times slower is told as such and gives the same age', async () => {
	const path = await drawClip({ phoneHz: 240.3, rateHz: 30, fileMs: (ms) => 8 * ms });
	const clip = await measured(path);
	expect(clip.measured.said).toBe('filmed at 240, stored at 30');
	const { meanAgeMs, budget } = clip.measured.pieces[0]!;
	expect(Math.abs(meanAgeMs - trueMeanAgeMs(120))).toBeLessThan(1.96 * budget.standardMs);
	const { warnings } = judgeFilmed([clip]).metrics;
	expect(warnings.find(({ code }) => code === 'clipStretched')?.seen).toMatch(/filmed at 240, stored at 30/);
});

test('of a clip with a ramp the steady pieces are used; one that never runs steadily is refused', async () => {
	const ramp = (ms: number) => (ms < 1500 ? ms : ms < 4500 ? 1500 + (ms - 1500) * 4 : 13_500 + (ms - 4500));
	const clip = await measured(await drawClip({ durationMs: 7000, fileMs: ramp }));
	expect(clip.measured.pieces.map(({ piece }) => piece.stretch)).toEqual([1, 4, 1]);
	for (const { meanAgeMs, budget } of clip.measured.pieces)
		expect(Math.abs(meanAgeMs - trueMeanAgeMs(120))).toBeLessThan(1.96 * budget.standardMs);
	expect(clip.measured.warnings.find(({ code }) => code === 'clipPartlyUsed')?.seen).toMatch(
		/^the clip changes its speed: its steady pieces are used, and \d+ % of the clip was left out/,
	);
	const smooth = await refused(await drawClip({ durationMs: 7000, fileMs: (ms) => ms + ms ** 2 / 4000 }));
	expect(smooth).toMatchObject({ reason: 'ramped' });
	expect(smooth.explanation).toMatch(/Send the original file/);
});

test('a clip with a part cut out is two pieces and no jump in age, and a person reads where it is cut', async () => {
	const path = await drawClip({
		...{ durationMs: 9000, keep: (ms) => ms < 3500 || ms > 5500 },
		fileMs: (ms) => (ms > 5000 ? ms - 2000 : ms),
	});
	const clip = await measured(path);
	const { pieces } = clip.measured;
	expect(pieces).toHaveLength(2);
	const { warnings } = judgeFilmed([clip]).metrics;
	expect(warnings.find(({ code }) => code === 'filmCut')).toMatchObject({
		seen: expect.stringMatching(/^clip\.mp4: the film is cut: after 3\.5 s the card jumps ahead by 2\.0 s/),
		advice: expect.stringMatching(/original file, uncut/),
	});
	for (const { meanAgeMs, budget } of pieces)
		expect(Math.abs(meanAgeMs - trueMeanAgeMs(120))).toBeLessThan(1.96 * budget.standardMs);
});

test('a fast clip brought down to 30 a second gives an age, and for delay asks for the original', async () => {
	const clip = await measured(await drawClip({ phoneHz: 30, durationMs: 12_000 }));
	const { freshDelay, pictureAge, warnings } = judgeFilmed([clip]).metrics;
	expect(warnings.find(({ code }) => code === 'filmSlow')).toMatchObject({
		seen: expect.stringMatching(
			/^clip\.mp4 has too few frames a second for a fast film, and its 11 s are too few/,
		),
		advice: expect.stringMatching(/brought down on its way: send the original file/),
	});
	expect(pictureAge.kind).toBe('measured');
	if (freshDelay.kind === 'measured') throw new Error('a delay from pictures without a frame of their own');
	expect(freshDelay.explanation).toMatch(/120 or 240 frames a second, and send the original file/);
});

/** Light, as a share of the marker's white, in hybrid log-gamma (ITU-R BT.2100, table 5), white at 75 % of the code as BT.2408 has it. */
function hlgOf(lightRatio: number): number {
	const [a, b, c] = [0.17883277, 0.28466892, 0.55991073];
	const scene = 0.265 * lightRatio;
	return scene <= 1 / 12 ? Math.sqrt(3 * scene) : a * Math.log(12 * scene - b) + c;
}

test('a film in ten bits of hybrid log-gamma gives the true age, no colour, and says why and what to do', async () => {
	const spec = madeSpec([60, 30, 60], 6, { durationMs: 5300 });
	const spoil = ({ data }: LumaPlane) => {
		for (const [i, code] of data.entries()) data[i] = Math.round(255 * hlgOf((code / 255) ** 2.2));
	};
	const view = { ...smallView, blurPx: 0.6 };
	const film = await filmClip(spec, view, { codec: 'hevc', bitDepth: 10, transfer: 'hlg', spoil });
	const source = await openClip(film.path, { decoder: 'library' });
	expect(source.info).toMatchObject({ codec: 'hevc', bitDepth: 10, transfer: 'hlg' });
	source.close();
	const clip = await measured(film.path);
	const [piece] = clip.measured.pieces;
	const { from, until } = piece!.piece;
	const truth = opticalTruth(spec, film.trueMs[from]!, film.trueMs[until - 1]!);
	expect(Math.abs(piece!.meanAgeMs - truth.meanAgeMs)).toBeLessThan(1.96 * piece!.budget.standardMs);
	const { warnings, colour } = judgeFilmed([clip]).metrics;
	expect(warnings.find(({ code }) => code === 'clipHdr')?.advice).toMatch(/^Switch HDR off/);
	if (colour.kind === 'measured') throw new Error('colours of an HDR film');
	expect(colour.explanation).toMatch(/^The clip is HDR \(HLG\): its codes are not colours.*Switch HDR off/);
});

test('what is wrong with a clip is said with what to do', async () => {
	const cases = [
		[
			{ tablet: 'missing' },
			'oneMarker',
			/turn the phone so that both are in the picture.*own recording.*--recording/,
		],
		[{ tablet: 'frozen' }, 'tabletFrozen', /Move the scope’s wheel slightly/],
		[{ durationMs: 2000 }, 'clipTooShort', /film 25 to 30 s/],
		[{ modulePx: 2 }, 'markerTooSmall', /20 pixels wide.*50 are needed.*to about 30 % of its distance/],
	] as const;
	for (const [drawn, reason, says] of cases) {
		const clip = await refused(await drawClip(drawn));
		expect(clip.reason).toBe(reason);
		expect(clip.explanation).toMatch(says);
	}
	const mirrored = await measured(await drawClip({ tablet: 'mirrored', durationMs: 5500 }));
	expect(mirrored.measured.orientation.shown).toBe('mirrored');
});

test('files that are no clips fail by name', async () => {
	const folder = newFolder();
	const empty = join(folder, 'empty.mp4');
	writeFileSync(empty, '');
	await expect(read(empty)).rejects.toMatchObject({ code: 'clipEmpty' });
	const text = join(folder, 'text.mp4');
	writeFileSync(text, 'no video\n'.repeat(500));
	await expect(read(text)).rejects.toMatchObject({ code: 'clipNotVideo' });
	const cut = await drawClip({ durationMs: 5500 });
	truncateSync(cut, Math.floor(statSync(cut).size * 0.6));
	await expect(read(cut)).rejects.toMatchObject({ code: 'clipNotClosed' });
	// A container that can be read up to the tear is used up to there.
	const torn = await drawClip({ name: 'clip.mkv', durationMs: 9000 });
	truncateSync(torn, Math.floor(statSync(torn).size * 0.8));
	expect((await measured(torn)).measured.pieces[0]!.durationMs).toBeGreaterThan(5000);
});
