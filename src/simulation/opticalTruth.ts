/** What is true of an invented optical clip over a stretch of its time: age, fresh delay and lost slots, exactly on the curve. */
import { CurveBuilder, type LevelCurve, levelQuantile, meanLevel } from '../statistics/levelCurve.ts';
import { truePictures } from './opticalPictures.ts';
import type { OpticalSpec } from './opticalSpec.ts';

export type OpticalTruth = {
	readonly meanAgeMs: number;
	readonly p50AgeMs: number;
	readonly p95AgeMs: number;
	/** Content-weighted mean delay of the pictures shown in the stretch. */
	readonly freshDelayMs: number;
	readonly shareOver240Ratio: number;
	/** Slots between the first and the last picture shown in the stretch that were never shown. */
	readonly lostSlots: number;
	readonly shownPictures: number;
	readonly ageCurve: LevelCurve;
};

/** Over [fromMs, toMs] of true time; throws `RangeError` when nothing stood on the tablet in it. */
export function opticalTruth(spec: OpticalSpec, fromMs: number, toMs: number): OpticalTruth {
	const shown = truePictures(spec).flatMap(({ slot, contentMs, refreshMs }) =>
		refreshMs === null ? [] : [{ slot, contentMs, centroidMs: refreshMs + spec.tablet.responseMs }],
	);
	const builder = new CurveBuilder(1);
	let delays = 0;
	let gaps = 0;
	let over = 0;
	let lostSlots = 0;
	let shownPictures = 0;
	for (const [i, picture] of shown.entries()) {
		const start = Math.max(fromMs, picture.centroidMs);
		const end = Math.min(toMs, shown[i + 1]?.centroidMs ?? toMs);
		if (end <= start) continue;
		builder.add(end - start, start - picture.contentMs);
		over += Math.min(end - start, Math.max(0, end - picture.contentMs - 240));
		const before = shown[i - 1];
		if (before === undefined || picture.centroidMs < fromMs) continue;
		const gap = picture.contentMs - before.contentMs;
		delays += gap * (picture.centroidMs - picture.contentMs);
		gaps += gap;
		shownPictures++;
		lostSlots += picture.slot - before.slot - 1;
	}
	const ageCurve = builder.finish();
	return {
		meanAgeMs: meanLevel(ageCurve),
		p50AgeMs: levelQuantile(ageCurve, 0.5),
		p95AgeMs: levelQuantile(ageCurve, 0.95),
		freshDelayMs: delays / gaps,
		shareOver240Ratio: over / ageCurve.totalMs,
		lostSlots,
		shownPictures,
		ageCurve,
	};
}
