/**
 * How much later a link is here than at home, from two link runs of the same tablet: what has to be added to the delay and the picture age that a
 * kit had at home, to say what it would have here (design.md 1, "kit here").
 *
 * Not one figure, since an air is not later by one figure: additions that hold but for a share of the time, of which the verdict takes the one that
 * costs it least. The differences of median and P95 stand beside, for people. Supposes that the air does to the kit's pictures what it does to ours,
 * and that scope and app take as long here as at home.
 */
import type { Run } from '../observations/run.ts';
import { CurveShift, type Measured } from '../statistics/curveShift.ts';
import { levelQuantile } from '../statistics/levelCurve.ts';
import { ageWaitMs, displayWaitMs } from './displayWait.ts';
import { freshDelayCurve, noDelay } from './freshDelay.ts';
import type { Metric, NotMeasured } from './metric.ts';
import { pictureAgeCurve } from './pictureAge.ts';
import { gatherPictures } from './presentedPictures.ts';
import { measureFacts } from './runFacts.ts';
import { isSameKind, viewerDeviceOf } from './viewerDevice.ts';

/** Shares of time that an addition may leave out, all of them less than a line of 5 % allows. */
const LEFT_RATIOS = [0.005, 0.015, 0.03] as const;

type Addition = { readonly leftRatio: number; readonly addedMs: number };
export type LinkShift = {
	/** Here less at home, of fresh delay; may be negative. */
	readonly medianMs: number;
	readonly p95Ms: number;
	readonly delay: readonly Addition[];
	readonly age: readonly Addition[];
};

/** Runs of the link rig. Not measured where the two are not of one device, one way of sending and one card, or where either gives no bound. */
export function measureLinkShift(here: Run, home: Run): Metric<LinkShift> {
	const unlike = whyUnlike(here, home);
	if (unlike !== null) return notMeasured('notComparable', unlike);
	const [hereCurves, homeCurves] = [curvesOf(here), curvesOf(home)];
	if ('kind' in hereCurves) return hereCurves;
	if ('kind' in homeCurves) return homeCurves;
	const difference = (order: number): number =>
		levelQuantile(hereCurves.delay.curve, order) - levelQuantile(homeCurves.delay.curve, order);
	const delay = additions(hereCurves.delay, homeCurves.delay);
	const age = additions(hereCurves.age, homeCurves.age);
	if (delay.length === 0 || age.length === 0)
		return notMeasured(
			'noBound',
			'The run here varies too slowly, or is too short, to bound how much later it is.',
		);
	return { kind: 'measured', medianMs: difference(0.5), p95Ms: difference(0.95), delay, age };
}

function additions(here: Measured, home: Measured): Addition[] {
	const shift = new CurveShift(here, home);
	return LEFT_RATIOS.flatMap((leftRatio) => {
		const addedMs = shift.leaving(leftRatio);
		return addedMs === null ? [] : [{ leftRatio, addedMs }];
	});
}

/** The first of what must be alike and is not, in words; null: nothing. */
function whyUnlike({ header: here }: Run, { header: home }: Run): string | null {
	if (here.rig !== 'link' || home.rig !== 'link') return 'Both must be runs of the link rig.';
	if (here.runId === home.runId) return 'They are one and the same run.';
	const [device, homeDevice] = [viewerDeviceOf(here), viewerDeviceOf(home)];
	if (device === null || homeDevice === null)
		return 'On what device one of the two was read is not known: make both with the tablet’s page.';
	if (!isSameKind(device, homeDevice)) return 'The two were read on different kinds of device.';
	const same = (what: (header: typeof here) => unknown): boolean =>
		JSON.stringify(what(here)) === JSON.stringify(what(home));
	if (!same(({ measuringPoints }) => measuringPoints)) return 'The two have different measuring points.';
	if (!same(({ path }) => path && { ...path, air: null }))
		return 'The two went by different transports, codecs or bitrates.';
	return same(({ source: { seed: _seed, ...source } }) => source) ? null : 'The two showed different cards.';
}

type Curves = { readonly delay: Measured; readonly age: Measured };

function curvesOf(run: Run): Curves | NotMeasured {
	const pictures = gatherPictures(run);
	const spoilt = noDelay(pictures);
	if (spoilt !== null) return spoilt;
	const facts = measureFacts(run);
	const band = { centreMs: facts.systematicCentreMs, standardMs: facts.systematicStandardMs };
	return {
		delay: { curve: freshDelayCurve(pictures), ...band, immaterialMs: displayWaitMs(facts) },
		age: { curve: pictureAgeCurve(pictures), ...band, immaterialMs: ageWaitMs(facts) },
	};
}

function notMeasured(reason: string, explanation: string): NotMeasured {
	return { kind: 'notMeasured', reason, explanation };
}
