/**
 * A kit back from repair against its own reference: one-sided, not worse by more than the tolerance (non-inferiority), the
 * session as the unit; within the criteria; and the right way up. Better or different is noted and fails nothing.
 *
 * A figure passes when the 95 % upper bound of (now less before, in the bad direction) is within its tolerance: Welch's t,
 * the rig's systematic doubt in quadrature; a figure that counts events is given at least the room that their number leaves
 * (exact Poisson bound), for three sessions that happen to agree prove nothing rare. Every figure must pass, so the chance of accepting a kit that is worse than
 * the tolerance on one of them is at most 5 %. What the sessions cannot tell is undecided, never passed.
 */
import { meanDifference, summarise } from '../statistics/meanDifference.ts';
import { normalQuantile } from '../statistics/normal.ts';
import { poissonUpper } from '../statistics/poissonRate.ts';
import { studentQuantile } from '../statistics/studentT.ts';
import type { ComparedFigure } from './comparedLine.ts';
import { type ArmSession, countEvents, LEAST_SESSIONS } from './comparison.ts';
import { type Tolerance, toleranceOf } from './tolerances.ts';
import type { Answer } from './verdict.ts';

const CONFIDENCE = 0.95;

type NewPart = 'none' | 'tube' | 'camera';
type Orientation = 'upright' | 'asBefore' | 'mirror' | 'turned';

export type FigureAcceptance = {
	readonly figure: ComparedFigure;
	readonly before: readonly number[];
	readonly now: readonly number[];
	readonly tolerance: Tolerance | null;
	/** Worse by at most this, 95 % one-sided; negative: better. Null where no bound can be given. */
	readonly worseByUpper: number | null;
	readonly state: 'notWorse' | 'worse' | 'undecided' | 'shown';
	readonly note: string;
};

export type Acceptance = {
	readonly outcome: 'acceptable' | 'notAcceptable' | 'notEnoughEvidence';
	/** Whether it was held against its own reference, or against the limits alone. */
	readonly against: 'reference' | 'limitsOnly';
	readonly figures: readonly FigureAcceptance[];
	/** Why it is so; the first weighs most. */
	readonly reasons: readonly string[];
	/** A mirror image or a wrong wheel: no release of any kind. */
	readonly blocked: boolean;
};

export type Assessed = {
	readonly figures: readonly ComparedFigure[];
	readonly reference: readonly ArmSession[];
	readonly now: readonly (ArmSession & {
		/** Answers of its runs for the use that is asked. */
		readonly answers: readonly Answer[];
	})[];
	readonly newPart: NewPart;
	/** Null: not looked at yet. */
	readonly orientation: Orientation | null;
	readonly wheelUpPictureUp: boolean | null;
	/** What stands in the way of an acceptance beside the figures: attempts that cannot be read, or that failed and do not count. */
	readonly open: readonly string[];
	/** Runs that read the picture mirrored or turned, whatever a person said of it. */
	readonly misoriented: readonly string[];
};

export function assessAcceptance(assessed: Assessed): Acceptance {
	// A reference that is too small is not the same as none: it must not open the easier way.
	const against = assessed.reference.length > 0 ? 'reference' : 'limitsOnly';
	const figures =
		against === 'reference' ? assessed.figures.map((figure) => judgeFigure(figure, assessed)) : [];
	const seen = figures.filter(({ before, now }) => before.length > 0 || now.length > 0);
	const blocks = orientationBlocks(assessed);
	const faults = [...blocks, ...criteriaFaults(assessed), ...worseFigures(seen)];
	const open = [...orientationOpen(assessed), ...evidenceOpen(assessed, seen), ...assessed.open];
	return {
		outcome: faults.length > 0 ? 'notAcceptable' : open.length > 0 ? 'notEnoughEvidence' : 'acceptable',
		against,
		figures: seen,
		reasons: [
			...faults,
			...open,
			...(against === 'limitsOnly' ? ['judged against limits only; this becomes the reference'] : []),
		],
		blocked: blocks.length > 0,
	};
}

function judgeFigure(figure: ComparedFigure, { reference, now, newPart }: Assessed): FigureAcceptance {
	const before = readingsOf(reference, figure.path);
	const after = readingsOf(now, figure.path);
	const shown = { figure, before, now: after, tolerance: null, worseByUpper: null };
	if (newPart !== 'none' && figure.ofThePicture)
		return {
			...shown,
			state: 'shown',
			note: `a new ${newPart}: the old reference is shown and does not bind`,
		};
	const tolerance = toleranceOf(figure.path, before);
	if (tolerance === null) return { ...shown, state: 'shown', note: 'shown, binds nothing' };
	const read = { ...shown, tolerance };
	if (before.length < LEAST_SESSIONS)
		return { ...read, state: 'shown', note: 'the reference does not have it' };
	if (after.length < LEAST_SESSIONS)
		return { ...read, state: 'undecided', note: `read in fewer than ${LEAST_SESSIONS} sessions` };
	return {
		...read,
		...decide(read, {
			systematic: Math.hypot(systematicOf(reference, figure), systematicOf(now, figure)),
			fewEvents: roomOfEvents(now, figure),
		}),
	};
}

/** How much higher a rate may be than it was counted, 95 % one-sided; 0 for a figure that counts nothing. */
function roomOfEvents(now: readonly ArmSession[], figure: ComparedFigure): number {
	const counted = countEvents(now, figure);
	if (counted === null) return 0;
	return (poissonUpper(counted.events, CONFIDENCE) - counted.events) / counted.exposure;
}

function decide(
	{ figure, before, now, tolerance }: Omit<FigureAcceptance, 'state' | 'note'>,
	{ systematic, fewEvents }: { readonly systematic: number; readonly fewEvents: number },
): Pick<FigureAcceptance, 'worseByUpper' | 'state' | 'note'> {
	const [first, second] = [summarise(before), summarise(now)];
	const sign = figure.better === 'lower' ? 1 : -1;
	const worseBy = sign * (second.mean - first.mean);
	const difference = meanDifference(first, second);
	const ofSessions =
		difference === null ? 0 : difference.standardError * studentQuantile(CONFIDENCE, difference.degrees);
	const random = Math.max(ofSessions, fewEvents);
	const reach = Math.hypot(random, systematic * normalQuantile(CONFIDENCE));
	const allowed = tolerance?.value ?? 0;
	const worseByUpper = worseBy + reach;
	if (worseByUpper <= allowed)
		return {
			worseByUpper,
			state: 'notWorse',
			note: worseByUpper < 0 ? 'better than before' : 'not worse by more than the tolerance',
		};
	if (worseBy - reach > allowed)
		return { worseByUpper, state: 'worse', note: 'worse by more than the tolerance' };
	return { worseByUpper, state: 'undecided', note: 'these sessions do not tell: make more' };
}

function orientationBlocks({ orientation, wheelUpPictureUp, misoriented }: Assessed): string[] {
	return [
		...misoriented.map((runId) => `run ${runId} read the picture the wrong way up, or as a mirror image`),
		...(orientation === 'mirror' ? ['the picture is a mirror image'] : []),
		...(orientation === 'turned' ? ['the picture is turned, and was not so before'] : []),
		...(wheelUpPictureUp === false ? ['wheel up, and the picture does not go up'] : []),
	];
}

function orientationOpen({ orientation, wheelUpPictureUp }: Assessed): string[] {
	return [
		...(orientation === null ? ['nobody said which way up the picture is'] : []),
		...(wheelUpPictureUp === null ? ['nobody tried: wheel up, does the picture go up?'] : []),
	];
}

function criteriaFaults({ now }: Assessed): string[] {
	return now
		.filter(({ answers }) => answers.includes('no'))
		.map(({ key }) => `session ${key} is outside the criteria`);
}

function worseFigures(figures: readonly FigureAcceptance[]): string[] {
	return figures
		.filter(({ state }) => state === 'worse')
		.map(({ figure, note }) => `${figure.label}: ${note}`);
}

function evidenceOpen({ now, reference }: Assessed, figures: readonly FigureAcceptance[]): string[] {
	const few =
		now.length < LEAST_SESSIONS ? [`${now.length} of the ${LEAST_SESSIONS} sessions that are needed`] : [];
	const unsettled = now
		.filter(({ answers }) => !answers.includes('yes') && !answers.includes('no'))
		.map(({ key }) => `session ${key} does not settle whether it is within the criteria`);
	const undecided = figures
		.filter(({ state }) => state === 'undecided')
		.map(({ figure, note }) => `${figure.label}: ${note}`);
	const thin =
		reference.length > 0 && reference.length < LEAST_SESSIONS
			? [
					`the reference has ${reference.length} of the ${LEAST_SESSIONS} sessions that are needed: it binds nothing, and it is not passed over`,
				]
			: [];
	return [...few, ...thin, ...unsettled, ...undecided];
}

function readingsOf(sessions: readonly ArmSession[], path: string): number[] {
	return sessions.flatMap(({ values }) => values[path] ?? []);
}

function systematicOf(sessions: readonly ArmSession[], { carriesSystematics }: ComparedFigure): number {
	return carriesSystematics ? Math.max(0, ...sessions.map((one) => one.systematicStandardMs)) : 0;
}
