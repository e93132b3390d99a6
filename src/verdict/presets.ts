/**
 * Three sets of criteria to choose from by name, with the reasoning of each. `standard` is the table of standardLines.ts;
 * `strict` takes the strictest study that can be named for each line, `gentle` what still lets some people do slow, simple
 * work. The half-second line is the same in all. Sources by the short names of standards.md; none is of a flexible
 * endoscope in a horse.
 */
import { type Criteria, criteriaHash, standardCriteria } from './criteria.ts';
import type { CriteriaLine, LineId } from './criteriaLine.ts';

type Preset = {
	readonly criteria: Criteria;
	/** One sentence each: what it asks, why, and for whom it is. */
	readonly reasoning: readonly string[];
};

type Move = Partial<Pick<CriteriaLine, 'level' | 'limit' | 'limitLong' | 'comfort' | 'source' | 'strength'>>;

const strictMoves: Partial<Readonly<Record<LineId, Move>>> = {
	age: {
		level: 140,
		source: '100 ms of delay (NAN22, KUM17) and one picture held at 25 a second',
		strength: 'moderate',
	},
	delay: { level: 100, source: 'NAN22 (up to 100 ms acceptable, moving scene); KUM17', strength: 'moderate' },
	variation: { limit: 40, source: 'PAV11 (jitter over 40 ms)', strength: 'weak, conflicting (PAV10)' },
	lost: { limit: 0.01, source: 'G.1010, from memory', strength: 'weak' },
	colour: { limit: 2, source: 'dental acceptability 1.8 to 2.25, side by side', strength: 'weak' },
	'colour-p95': { limit: 4, source: 'dental acceptability 1.8 to 2.25, side by side', strength: 'weak' },
};

const gentleMoves: Partial<Readonly<Record<LineId, Move>>> = {
	age: {
		level: 340,
		source: '300 ms of delay (XU14 "suitable") and one picture held at 25 a second',
		strength: 'weak: one study, 16 students, own scores',
	},
	delay: { level: 300, source: 'XU14 "suitable"', strength: 'weak: one study, 16 students, own scores' },
	freezes: {
		limit: 1,
		limitLong: 0.5,
		source: 'W3C definition (STATS); the limit is this project’s own proposal: one freeze in a verdict run',
		strength: 'definition strong, limit weak',
	},
	gaps: {
		limit: 1,
		limitLong: 0.5,
		source: 'by analogy with freezes; this project’s own proposal',
		strength: 'weak',
	},
};

export const presets: ReadonlyMap<string, Preset> = new Map([
	[
		'strict',
		{
			criteria: moved('strict', strictMoves),
			reasoning: [
				'For work in which the picture leads the hand all the time, and for choosing between kits that are all good.',
				'Delay over 100 ms counts: there two independent groups saw people become slower, on other tasks (NAN22 total, KUM17 added).',
				'Unevenness over 40 ms (PAV11), pictures lost over 1 % (G.1010, from memory), colour at the edge of what is seen side by side.',
				'Freezes and gaps stay as they are: a stricter rate could not be shown by a run of the verdict profile.',
			],
		},
	],
	[
		'standard',
		{
			criteria: standardCriteria,
			reasoning: [
				'For steering with care: delay up to 200 ms, which one study of a simulated robot calls ideal (XU14) and stricter ones do not.',
				'A rarely frozen, mostly even picture of true colours; limits that no study gives are marked as proposals.',
			],
		},
	],
	[
		'gentle',
		{
			criteria: moved('gentle', gentleMoves),
			reasoning: [
				'For slow, simple work by your own decision: at 200 to 300 ms some people manage, more slowly (XU14 "suitable").',
				'One freeze and one gap in a verdict run are let pass; that is this project’s own proposal, with no study behind it.',
				'All else is as in the standard criteria. A kit that is fit only by these is not one to learn on.',
			],
		},
	],
]);

/** The reasoning of a built-in set, known by its numbers and not by its name; null for any other. */
export function reasoningOf(hash: string): readonly string[] | null {
	for (const { criteria, reasoning } of presets.values())
		if (criteriaHash(criteria) === hash) return reasoning;
	return null;
}

function moved(name: string, moves: Partial<Readonly<Record<LineId, Move>>>): Criteria {
	return { name, lines: standardCriteria.lines.map((line) => ({ ...line, ...moves[line.id] })) };
}
