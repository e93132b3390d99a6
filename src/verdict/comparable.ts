/**
 * What may stand beside what. Runs of other rigs, subjects or measuring points say other things in the same words: they are
 * refused with the reason. Where only the criteria or the source's rate differ, the figures that hang on them are left out.
 */
import type { ComparedFigure } from './comparedLine.ts';
import { comparedFigures } from './comparedLine.ts';

/** What is asked of a run before it is compared. */
export type ComparedRun = {
	readonly runId: string;
	readonly rig: string;
	readonly subjectKind: string;
	readonly invented: boolean;
	readonly measuringPoints: string;
	readonly criteriaHash: string;
	readonly sourceRateHz: number;
};

type Comparability = {
	/** Why they may not be compared; empty when they may. */
	readonly refusals: readonly string[];
	readonly figures: readonly ComparedFigure[];
	/** Figures left out, each in one sentence. */
	readonly leftOut: readonly string[];
};

export function comparability(
	runs: readonly ComparedRun[],
	{ betweenKits = false }: { readonly betweenKits?: boolean } = {},
): Comparability {
	const refusals = (
		[
			['rig', 'rigs'],
			['subjectKind', 'subjects'],
			['measuringPoints', 'measuring points'],
		] as const
	).flatMap(([key, name]) => {
		const found = kinds(runs, key);
		return found.length > 1 ? [`They are of different ${name}: ${found.join('; ')}.`] : [];
	});
	if (kinds(runs, 'invented').length > 1)
		refusals.push('Some were invented for the rehearsal and some are real.');
	const mixed: Record<ComparedFigure['hangsOn'], boolean> = {
		nothing: false,
		criteria: kinds(runs, 'criteriaHash').length > 1,
		sourceRate: kinds(runs, 'sourceRateHz').length > 1,
	};
	const means = comparedFigures.filter(({ withinOneKit }) => !(withinOneKit && betweenKits));
	return {
		refusals,
		figures: means.filter(({ hangsOn }) => !mixed[hangsOn]),
		leftOut: [
			...means
				.filter(({ hangsOn }) => mixed[hangsOn])
				.map(({ label, hangsOn }) => `${label}: left out, for the runs ${MIXED_WORDS[hangsOn]}.`),
			...comparedFigures
				.filter((figure) => !means.includes(figure))
				.map(
					({ label }) =>
						`${label}: not compared between kits, whose pictures may have other numbers of pixels.`,
				),
		],
	};
}

const MIXED_WORDS: Readonly<Record<ComparedFigure['hangsOn'], string>> = {
	nothing: '',
	criteria: 'were judged by different criteria (judge them again with --rewrite)',
	sourceRate: 'had sources of different rates',
};

function kinds(runs: readonly ComparedRun[], key: keyof ComparedRun): string[] {
	return [...new Set(runs.map((run) => String(run[key])))].sort();
}
