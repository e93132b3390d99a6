/** A comparison as `compare --json` prints it and the reports read it. It holds no mark that adds up figures: there is none. */
import type { ComparedFigure } from './comparedLine.ts';
import {
	type Arm,
	compareFigure,
	type FigureComparison,
	isAlternated,
	LEAST_SESSIONS,
	type SessionAnswers,
} from './comparison.ts';
import { type HandSheet, type HandTally, tallySheets } from './handSheet.ts';

export type ComparisonDocument = {
	readonly format: 'steerworthy-comparison';
	readonly version: 1;
	readonly toolVersion: string;
	readonly by: string;
	readonly subject: string;
	/** The rehearsal's kits: no such device was tested. */
	readonly invented: boolean;
	/** The criteria by which the runs were judged, each with its hash and what differs from the standard. */
	readonly criteria: readonly string[];
	readonly arms: readonly {
		readonly name: string;
		readonly sessions: readonly ({ readonly key: string; readonly startedAt: string } & SessionAnswers)[];
	}[];
	readonly alternated: boolean;
	readonly figures: readonly FigureComparison[];
	/** What was not counted or not compared, and why. */
	readonly leftOut: readonly string[];
	/** Beside the figures, never in them. */
	readonly byHand: readonly {
		readonly arm: string;
		/** Who filled in a sheet, when, against which scope. */
		readonly people: readonly string[];
		readonly tally: readonly HandTally[];
	}[];
	readonly notTested: readonly string[];
};

type Parts = {
	readonly toolVersion: string;
	readonly by: string;
	/** What the runs are about, in words. */
	readonly subject: string;
	readonly invented: boolean;
	readonly criteria: readonly string[];
	readonly arms: readonly Arm[];
	readonly figures: readonly ComparedFigure[];
	readonly leftOut: readonly string[];
	readonly sheets: readonly HandSheet[];
};

/** Throws `RangeError` for fewer than two arms or more than eight. */
export function buildComparison(parts: Parts): ComparisonDocument {
	const { arms } = parts;
	if (arms.length < 2 || arms.length > 8)
		throw new RangeError(`two to eight arms are compared, got ${arms.length}`);
	const alternated = isAlternated(arms);
	const figures = parts.figures.map((figure) => compareFigure(figure, arms));
	const seen = figures.filter((one) => one.arms.some(({ mean }) => mean !== null));
	const unseen = figures.filter((one) => !seen.includes(one)).map(({ figure }) => figure.label);
	return {
		format: 'steerworthy-comparison',
		version: 1,
		toolVersion: parts.toolVersion,
		by: parts.by,
		subject: parts.subject,
		invented: parts.invented,
		criteria: parts.criteria,
		arms: arms.map(({ name, sessions }) => ({
			name,
			sessions: sessions.map(({ key, startedAt, steer, record, margin }) => ({
				...{ key, startedAt, steer, record, margin },
			})),
		})),
		alternated,
		figures: seen,
		leftOut: [...parts.leftOut, ...thinArms(arms), ...strayed(parts.sheets, arms)],
		byHand:
			parts.sheets.length === 0
				? []
				: arms.map(({ name }) => ({
						arm: name,
						people: parts.sheets.filter(({ kit }) => kit === name).map(personWords),
						tally: tallySheets(parts.sheets, name),
					})),
		notTested: [...unseen.map((label) => `${label}: no run of these read it`), ...NOT_TESTED],
	};
}

function personWords({ person, day, presentScope }: HandSheet): string {
	return `${person} (${day === '' ? 'day not written down' : day}, against ${presentScope === '' ? 'a scope not written down' : presentScope})`;
}

/** A sheet with a misspelt kit must not vanish. */
function strayed(sheets: readonly HandSheet[], arms: readonly Arm[]): string[] {
	return sheets
		.filter(({ kit }) => !arms.some(({ name }) => name === kit))
		.map(({ kit, person }) => `The by-hand sheet of ${person} is on ${kit}, which is none of these.`);
}

function thinArms(arms: readonly Arm[]): string[] {
	return arms
		.filter(({ sessions }) => sessions.length < LEAST_SESSIONS)
		.map(
			({ name, sessions }) =>
				`${name} has ${sessions.length} of the ${LEAST_SESSIONS} sessions that a difference needs.`,
		);
}

const NOT_TESTED: readonly string[] = [
	'the animal: nothing was tested in or on a horse',
	'other places, other days, other radios than those of these sessions',
	'how long it lasts: wear, drops, water, heat, a battery that ages',
	'electrical safety, leaks, channel, bending, light output, cleaning and reprocessing',
	'what people make of the picture: no diagnosis was made from any of it',
];
