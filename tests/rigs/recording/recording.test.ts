import { readFileSync, truncateSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import type { ClipSource } from '../../../src/imaging/clipFrame.ts';
import { lumaOf } from '../../../src/imaging/planes.ts';
import { openClip } from '../../../src/media/node/clip.ts';
import { type ClipPlan, openClipWriter, WRITTEN_TICKS_HZ } from '../../../src/media/node/clipWriter.ts';
import { measureRun } from '../../../src/metrics/measureRun.ts';
import { placeRun } from '../../../src/observations/placeRun.ts';
import type { CardSpec } from '../../../src/pattern/card.ts';
import { encodeFrameNumber } from '../../../src/pattern/frameCode.ts';
import { cardGeometry } from '../../../src/pattern/geometry.ts';
import { createCardPainter } from '../../../src/pattern/painter.ts';
import { type RecordingOptions, readRecording } from '../../../src/rigs/recording/recording.ts';
import { whichCard } from '../../../src/rigs/recording/whichCard.ts';
import { standardCriteria, thresholdsOf } from '../../../src/verdict/criteria.ts';
import { judgeRun } from '../../../src/verdict/judgeRun.ts';
import { newFolder, writeMadeClip } from '../../media/madeClips.ts';
import { drawClip } from '../optical/drawnClip.ts';

const link: CardSpec = { layout: 'link', size: '1280x720', seed: 1, difficulty: 'easy' };
const scope: CardSpec = { ...link, layout: 'scope', displayHz: 60 };

type Shown = readonly [atMs: number, tick: number];

async function record(
	card: CardSpec,
	shown: readonly Shown[],
	plan: Partial<ClipPlan> & { ending?: string } = {},
) {
	const path = join(newFolder(), `kit.${plan.ending ?? 'mp4'}`);
	const writer = await openClipWriter(path, { widthPx: 1280, heightPx: 720, rateHz: 25, ...plan });
	const painter = createCardPainter(card);
	for (const [atMs, tick] of shown)
		writer.write(painter.paintPlanes(tick), Math.round((atMs * WRITTEN_TICKS_HZ) / 1000));
	writer.close();
	return path;
}

/** The same pictures as a file without a codec would hand them over. */
function painted(card: CardSpec, shown: readonly Shown[]): ClipSource {
	const painter = createCardPainter(card);
	return {
		info: {
			codec: 'none',
			widthPx: 1280,
			heightPx: 720,
			bitDepth: 8,
			encoding: { matrix: '709', range: 'limited' },
			transfer: 'usual',
			timeBase: { num: 1, den: 1000 },
			turnedDeg: 0,
			mirrored: false,
			declaredCount: shown.length,
			// A long file is looked at less often.
			declaredMs: 600_000,
			container: 'none',
		},
		readBy: 'the test',
		notes: () => [],
		close: () => {},
		async *frames() {
			for (const [atMs, tick] of shown) {
				const planes = painter.paintPlanes(tick);
				yield { ticks: Math.round(atMs), luma: lumaOf(planes), planes: () => planes, damaged: false };
			}
		},
	};
}

async function judged(clip: string | ClipSource, over: Partial<RecordingOptions> = {}) {
	const path = typeof clip === 'string' ? clip : 'painted.mp4';
	const open = async () => (typeof clip === 'string' ? await openClip(clip) : clip);
	const { records, timeline } = await readRecording(open, {
		runId: 'made',
		toolVersion: '0',
		startedAt: '2026-01-01T00:00:00Z',
		path,
		place: null,
		card: link,
		cardHz: null,
		light: null,
		progress: () => {},
		...over,
	});
	const metrics = measureRun(placeRun(records), thresholdsOf(standardCriteria));
	return { metrics, timeline, ...judgeRun(metrics, standardCriteria) };
}

/** The card at 25 a second, every frame of it recorded. */
const whole = (length: number): Shown[] => Array.from({ length }, (_, i) => [i * 40, 500 + i]);

test('a whole recording of the link card in H.264 with B-pictures is good as a record', async () => {
	const { verdict, metrics, lines } = await judged(await record(link, whole(255), { bFrames: 3 }));
	expect(verdict.record).toBe('yes');
	expect(verdict.steer).toBe('notAsked');
	expect(metrics.frames).toMatchObject({ sent: 255, presented: 255, lost: 0, repeated: 0, outOfOrder: 0 });
	expect(metrics.freshDelay).toMatchObject({ kind: 'notMeasured', reason: 'notThisRig' });
	expect(lines.find(({ id }) => id === 'continuity')).toMatchObject({ state: 'met', reading: 0 });
	expect(lines.find(({ id }) => id === 'colour')).toMatchObject({ state: 'met' });
	expect(lines.find(({ id }) => id === 'detail')).toMatchObject({ state: 'met' });
});

test('known losses and repeats are counted exactly, and too many of them are no record', async () => {
	const lost = new Set([30, 31, 32, 60, 80, 101]);
	const repeated = new Set([60, 80]);
	const shown = whole(120)
		.map(([at, tick], i): Shown => [at, repeated.has(i) ? tick - 1 : tick])
		.filter((_, i) => !lost.has(i) || repeated.has(i));
	const { metrics, verdict, lines } = await judged(await record(link, shown));
	expect(metrics.frames).toMatchObject({
		sent: 120,
		presented: 114,
		lost: 6,
		repeated: 2,
		longestLossRun: 3,
	});
	expect(lines.find(({ id }) => id === 'lost-record')).toMatchObject({ state: 'notMet' });
	expect(verdict.record).toBe('no');
	expect(metrics.warnings.map(({ code }) => code)).not.toContain('retimed');
});

test('pictures that changed places are counted, and looks are taken of no damaged picture nor of one in HDR', async () => {
	const shown = whole(80);
	[shown[40], shown[41]] = [
		[40 * 40, 541],
		[41 * 40, 540],
	];
	const source = painted(link, shown);
	const swapped = { ...source, info: { ...source.info, declaredMs: 3200 } };
	const plain = await judged(swapped);
	expect(plain.metrics.frames).toMatchObject({ sent: 80, lost: 0, outOfOrder: 1 });
	expect(plain.metrics.colour).toMatchObject({ kind: 'measured' });
	const hdr = await judged({ ...swapped, info: { ...swapped.info, transfer: 'hlg' } });
	for (const metric of [
		hdr.metrics.colour,
		hdr.metrics.whiteBalance,
		hdr.metrics.sharpness,
		hdr.metrics.likeness,
	])
		expect(metric).toMatchObject({ reason: 'hdr', explanation: expect.stringMatching(/HDR \(HLG\)/) });
	expect(hdr.metrics.warnings.map(({ code }) => code)).toContain('hdr');
	// A record whose colours nobody measured is no good record, nor a bad one.
	expect(hdr.verdict.record).toBe('undetermined');
	const damaged = await judged({
		...swapped,
		async *frames() {
			for await (const frame of swapped.frames()) yield { ...frame, damaged: true };
		},
	});
	expect(damaged.metrics.colour).toMatchObject({ kind: 'notMeasured' });
	expect(damaged.metrics.warnings.map(({ code }) => code)).toContain('damagedFrames');
});

test('a cut makes it no record, and 15 pictures a second make it stills only', async () => {
	const cut = whole(130).filter((_, i) => i < 60 || i >= 90);
	const { lines, verdict, metrics } = await judged(
		painted(
			link,
			cut.map(([, tick], i): Shown => [i * 40, tick]),
		),
	);
	expect(lines.find(({ id }) => id === 'continuity')).toMatchObject({
		state: 'notMet',
		because: expect.stringContaining('1 cut'),
	});
	expect(verdict.record).toBe('no');
	expect(metrics.frames).toMatchObject({ sent: 100, lost: 0 });
	expect(metrics.warnings).toContainEqual(
		expect.objectContaining({ code: 'cut', seen: expect.stringContaining('1.2 s') }),
	);

	const slow = Array.from({ length: 160 }, (_, i): Shown => [(i * 1000) / 15, 10 + 2 * i]);
	const stills = await judged(painted(link, slow));
	expect(stills.lines.find(({ id }) => id === 'moving-record')).toMatchObject({
		state: 'notMet',
		because: expect.stringContaining('stills only'),
	});
});

test('a recording that was cut off is read as far as it goes and never called good', async () => {
	const path = await record(link, whole(200), { ending: 'mkv', bitrateKbps: 3000 });
	truncateSync(path, Math.round(readFileSync(path).length * 0.75));
	const { metrics, lines, verdict } = await judged(path);
	expect(metrics.warnings).toContainEqual(expect.objectContaining({ code: 'notClosed' }));
	expect(lines.find(({ id }) => id === 'continuity')?.state).toBe('undecided');
	expect(verdict.record).toBe('undetermined');
});

test('the optical card is found in a recording and its ticks counted through the marker', async () => {
	const lost = new Set([40, 41, 70]);
	const shown = Array.from({ length: 90 }, (_, i): Shown => [(i * 1000) / 30, 200 + 2 * i]).filter(
		(_, i) => !lost.has(i),
	);
	const path = await record(scope, shown, { rateHz: 30, bitrateKbps: 2000 });
	const source = await openClip(path);
	expect(await whichCard(source)).toEqual({ layout: 'scope', size: '1280x720' });
	source.close();
	const { metrics, timeline } = await judged(path, { card: scope });
	expect(timeline).toMatchObject({ cardHz: 60, cardHzFrom: 'card', stretch: 1, stable: true });
	expect(metrics.frames).toMatchObject({ sent: 90, presented: 87, lost: 3, repeated: 0 });
	expect(metrics.colour).toMatchObject({ kind: 'notMeasured', reason: 'noReference' });
});

test('on a screen of 120 Hz, whose tick runs on by four from picture to picture, the recorded card is read as well', async () => {
	const fast: CardSpec = { ...scope, displayHz: 120 };
	const shown = Array.from({ length: 40 }, (_, i): Shown => [(i * 1000) / 30, 4080 + 4 * i]);
	const source = painted(
		fast,
		shown.filter((_, i) => i !== 25),
	);
	const { metrics, timeline } = await judged(source, { card: fast });
	expect(timeline).toMatchObject({ cardHz: 120, cardHzFrom: 'card', stretch: 1, stable: true });
	expect(metrics.frames).toMatchObject({ sent: 40, presented: 39, lost: 1, repeated: 0 });
});

test('a phone’s film of both screens is no recording of the kit’s own, and is refused with where it belongs', async () => {
	const film = await drawClip({ durationMs: 3000, delayMs: 90 });
	await expect(judged(film, { card: scope })).rejects.toMatchObject({
		code: 'screensFilmed',
		message: expect.stringMatching(/two screens, one of them behind the other/),
		advice: expect.stringMatching(/steerworthy optical/),
	});
	// Two markers of one screen, one a little late by its rows, are the card's own copies.
	const copies = await drawClip({ durationMs: 3000, delayMs: 17 });
	expect((await judged(copies, { card: scope })).timeline.frames).toBeGreaterThan(300);
});

test('what cannot be read says what it saw and what to do', async () => {
	const small = await writeMadeClip('small.mp4');
	await expect(judged(small)).rejects.toMatchObject({
		code: 'cardNotFound',
		message: expect.stringContaining('96 x 64'),
	});
	await expect(judged(small, { card: scope })).rejects.toMatchObject({ code: 'cardNotFound' });
	const short = painted(link, whole(6));
	await expect(judged(short)).rejects.toMatchObject({
		code: 'clipTooShort',
		message: expect.stringContaining('0.2 s'),
	});
	const standing = painted(
		link,
		Array.from({ length: 30 }, (_, i): Shown => [i * 40, 7]),
	);
	await expect(judged(standing)).rejects.toMatchObject({ code: 'cardStands' });
	const strange = painted(scope, whole(20));
	await expect(judged(strange)).rejects.toMatchObject({ code: 'cardNotFound' });
});

test('a link card of another edition is called that, and not taken for a card that was not found', async () => {
	const { code } = cardGeometry(link);
	const planes = createCardPainter(link).paintPlanes(0);
	const bits = encodeFrameNumber(7, 0x11);
	for (let row = 0; row < code.rect.heightPx; row++)
		for (let column = 0; column < code.rect.widthPx; column++) {
			const light = (bits[Math.floor(column / code.cellPx)] === 1) === row < code.cellPx;
			planes.y[(code.rect.yPx + row) * planes.yStride + code.rect.xPx + column] = light ? 220 : 30;
		}
	const source = painted(link, whole(3));
	const other: ClipSource = {
		...source,
		async *frames() {
			for await (const frame of source.frames()) yield { ...frame, luma: lumaOf(planes) };
		},
	};
	expect(await whichCard(source)).toMatchObject({ layout: 'link' });
	await expect(whichCard(other)).rejects.toMatchObject({
		code: 'cardNotFound',
		message: expect.stringMatching(/another version/),
	});
});
