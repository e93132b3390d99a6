import { expect, test } from 'vitest';
import { PAIRS } from '../../../src/pattern/markerCode.ts';
import type { PieceMeasurement } from '../../../src/reading/clipMeasurement.ts';
import { measureClip } from '../../../src/reading/measureClip.ts';
import type { ClipReading } from '../../../src/reading/opticalTypes.ts';
import type { OpticalClip } from '../../../src/rigs/optical/opticalClip.ts';
import { separateFilms } from '../../../src/rigs/optical/sameFilm.ts';
import { createRandom } from '../../../src/statistics/random.ts';
import { madeClip, madeSpec } from '../../reading/madeClip.ts';
import { goodLink, judgeFilmed } from './filmedSession.ts';

const long = madeClip(madeSpec([60, 30, 120], 1, { link: goodLink, durationMs: 70_000, firstTick: 3000 }));

function clipOf(reading: ClipReading, name: string): OpticalClip {
	const measured = measureClip(reading);
	if (measured.kind !== 'measured') throw new Error(measured.explanation);
	return { kind: 'clip', name, transfer: 'usual', measured, notes: [] };
}

type Cut = { readonly slower?: number; readonly noise?: number };

/** What an encoder leaves of a stretch of a film: the same events in other noise, its time from 0, slower where asked. */
function part(name: string, [fromMs, untilMs]: readonly [number, number], cut: Cut = {}): OpticalClip {
	const { slower = 1, noise = 0.06 } = cut;
	const random = createRandom(fromMs + 7);
	const frames = [...long.fileMs.keys()].filter(
		(i) => long.fileMs[i]! >= fromMs && long.fileMs[i]! < untilMs,
	);
	const reading: ClipReading = {
		...long,
		fileMs: Float64Array.from(frames, (i) => slower * (long.fileMs[i]! - fromMs)),
		tracks: long.tracks.map(({ marker, vectors, read }) => ({
			marker,
			read: Uint8Array.from(frames, (i) => read[i]!),
			vectors: Float32Array.from(
				{ length: frames.length * PAIRS },
				(_, k) => vectors[frames[Math.floor(k / PAIRS)]! * PAIRS + (k % PAIRS)]! + noise * random.normal(),
			),
		})),
	};
	return clipOf(reading, name);
}

const names = (clips: readonly { readonly name: string }[]) => clips.map(({ name }) => name);

test('a trimmed, re-encoded, slowed copy of a film is no other film, and the longer one is kept', () => {
	const whole = part('whole.mp4', [0, 25_000], { noise: 0 });
	const copies = [
		part('trimmed.mp4', [3000, 25_000], { noise: 0.1 }),
		part('slowed.mp4', [500, 24_000], { slower: 4 }),
	];
	for (const copy of copies) {
		const { clips, left } = separateFilms([copy, whole]);
		expect(names(clips)).toEqual(['whole.mp4']);
		expect(left).toMatchObject([{ name: copy.name, reason: 'clipTwice' }]);
		expect(left[0]!.explanation).toMatch(/same pictures at the same instants as whole\.mp4.*film anew/);
	}
});

test('one long film cut in three is one film, in whatever order its parts are given', () => {
	const parts = [0, 1, 2].map((i) => part(`part ${i}.mp4`, [22_700 * i, 22_700 * (i + 1) - 400]));
	for (const order of [
		[0, 1, 2],
		[2, 0, 1],
		[1, 0, 2],
	]) {
		const { clips, left } = separateFilms(order.map((i) => parts[i]!));
		expect(clips).toHaveLength(1);
		expect(left.map(({ reason }) => reason)).toEqual(['clipCut', 'clipCut']);
		expect(left[0]!.explanation).toMatch(/follows on part \d\.mp4 within 2 s.*one film, cut/);
	}
});

test('parts of one film with a pause in which an app could be started anew are kept, and told with the pause', () => {
	const parts = [part('a.mp4', [0, 22_000]), part('b.mp4', [31_000, 53_000])];
	for (const order of [parts, [...parts].reverse()]) {
		const { clips, left, mayBeOne } = separateFilms(order);
		expect(clips).toEqual(order);
		expect(left).toEqual([]);
		expect(mayBeOne).toMatchObject([{ first: 'a.mp4', second: 'b.mp4' }]);
		// The clips' ends are taken off.
		expect(mayBeOne[0]!.pauseMs).toBeGreaterThan(8900);
		expect(mayBeOne[0]!.pauseMs).toBeLessThan(11_000);
		const { warnings } = judgeFilmed(clips, { mayBeOne }).metrics;
		expect(warnings.find(({ code }) => code === 'filmsMayBeOne')).toMatchObject({
			seen: expect.stringMatching(/b\.mp4 begins (9|10) s after the end of a\.mp4/),
			advice: expect.stringMatching(/close and open it, and film one of them again/),
		});
	}
});

test('a delay that differs, or a scope out of step, speaks for a new start of the app', () => {
	const first = part('first', [0, 22_000]);
	const second = part('second', [31_000, 53_000]);
	const moved = (change: Partial<PieceMeasurement>): OpticalClip => ({
		...second,
		measured: {
			...second.measured,
			pieces: second.measured.pieces.map((piece) => ({ ...piece, ...change })),
		},
	});
	const [piece] = second.measured.pieces;
	const later = moved({ freshDelayMs: piece!.freshDelayMs + 6 });
	expect(separateFilms([first, later]).mayBeOne).toEqual([]);
	const stepped = (byMs: number) => {
		const pictures = piece!.shown.pictures.map((each) => ({ ...each, contentMs: each.contentMs + byMs }));
		return moved({ shown: { ...piece!.shown, pictures } });
	};
	expect(separateFilms([first, stepped(5)]).mayBeOne).toEqual([]);
	// After ten seconds the cadence is foretold to a twentieth of a slot, which is less than after thirty.
	expect(separateFilms([first, stepped(2.2)]).mayBeOne).toEqual([]);
	expect(separateFilms([first, stepped(0.6)]).mayBeOne).toHaveLength(1);
	expect(separateFilms([first, moved({ method: 'linear' })]).mayBeOne).toEqual([]);
	expect(separateFilms([first, second]).mayBeOne).toHaveLength(1);
});

test('films between which the app was started anew stay films of their own, though the card’s ticks are the same', () => {
	const spec = madeSpec([60, 30, 120], 2, { link: goodLink, durationMs: 22_000 });
	const films = [1, 2, 3].map((take) =>
		clipOf(
			madeClip({ ...spec, seed: 10 + take, link: { ...goodLink, delayMs: 60 + 2 * take } }),
			`take ${take}`,
		),
	);
	expect(separateFilms(films)).toEqual({ clips: films, left: [], mayBeOne: [] });
});
