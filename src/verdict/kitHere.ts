/**
 * The kit here (design.md 1): may this kit be steered by at this place, from three runs of which none says it alone: the kit through its own lens, the
 * link at home, and the link here, by the same tablet.
 *
 * Age, delay and half a second: the kit's own curve with what the link here adds to that at home (metrics/linkShift.ts); an addition that leaves out some
 * share of the time takes that share from what the line allows. Rate, freezes, gaps and lost pictures: the worse of kit and link. Unevenness: the kit's own
 * and what the link here spreads more than that at home. A "no" is only ever the kit's or the link's own; a "yes" needs both of theirs besides.
 * Not in it: what the scope's own Wi-Fi does otherwise than ours here, and that each run is one draw.
 */
import type { LinkShift } from '../metrics/linkShift.ts';
import type { Metric, Metrics } from '../metrics/metric.ts';
import { type Criteria, criteriaHash, lineOf } from './criteria.ts';
import type { LineId } from './criteriaLine.ts';
import { judgeLines } from './judgeLines.ts';
import { judgeRun } from './judgeRun.ts';
import { profileOf, speaksFor } from './profiles.ts';
import type { Answer, Fitness, JudgedLine, Verdict } from './verdict.ts';
import { fitnessOf, orderOf } from './verdictWords.ts';

/** The lines, in the order told, and how each is made of kit and link. */
const LINES: readonly (readonly [LineId, 'added' | 'spread' | 'worse' | 'link' | 'kit'])[] = [
	['age', 'added'],
	['delay', 'added'],
	['half-second', 'added'],
	['variation', 'spread'],
	['rate', 'worse'],
	['freezes', 'worse'],
	['gaps', 'worse'],
	['lost', 'link'],
	['orientation', 'kit'],
];
const HEADLINES: Readonly<Record<Answer, string>> = {
	yes: 'this kit is fit for live steering here',
	no: 'this kit is not fit for live steering here',
	undetermined: 'not enough evidence yet',
	notAsked: 'not enough evidence yet',
};
/** A home run shorter than a brief one says too little of what is usual. */
const HOME_OBSERVED_MS = profileOf('brief').observedMs;

export type ThreeRuns = {
	readonly kit: Metrics;
	readonly here: Metrics;
	readonly home: Metrics;
	readonly shift: Metric<LinkShift>;
	/** The kit's run, measured as if every picture had come so much later. */
	readonly kitLaterBy: (addedMs: number) => Metrics;
};

export type KitHere = {
	readonly kit: string;
	/** Made up for a rehearsal: no such kit was filmed. */
	readonly invented: boolean;
	readonly place: string | null;
	/** Run, when, and whether it says "steer" by itself; home is not judged. */
	readonly runs: Readonly<Record<'kit' | 'here' | 'home', RestsOn>>;
	readonly shift: Metric<LinkShift>;
	readonly steer: Answer;
	readonly fitness: Fitness;
	readonly headline: string;
	readonly order: string;
	readonly decidedBy: readonly string[];
	/** Readings are those of kit or link; of age, delay and half a second as they would be with what is added. */
	readonly lines: readonly JudgedLine[];
	readonly speaksFor: string;
	readonly criteria: Verdict['criteria'];
};

type RestsOn = {
	readonly runId: string;
	readonly startedAt: string;
	readonly observedMs: number;
	/** Name of the simulated air that stood in the way; null: none did. */
	readonly simulatedAir: string | null;
	readonly steer: Answer | null;
};

/** Throws `RangeError` where the first is no kit's run through its lens, or the others are none of the link rig. */
export function judgeKitHere(three: ThreeRuns, criteria: Criteria): KitHere {
	requireRigs(three);
	const { kit, here, home, shift } = three;
	const own = { kit: judgeRun(kit, criteria), here: judgeRun(here, criteria) };
	const lines = LINES.map(([id, how]) => lineOfKind(id, how, { three, own, criteria }));
	const notMet = lines.filter(({ state }) => state === 'notMet');
	const open = lines.filter(({ state }) => state === 'undecided' || state === 'notMeasured');
	const next = firstHold(three, own) ?? openWords(open[0]);
	const steer: Answer = notMet.length > 0 ? 'no' : next === null ? 'yes' : 'undetermined';
	const outcome = {
		...{ subject: kit.facts.header.subject, steer, record: 'undetermined' as const },
		...{ roomLeftMs: null, nothingAgainst: false, next: next ?? '' },
	};
	const shorter = here.facts.observedMs < kit.facts.observedMs ? here : kit;
	return {
		kit: kit.facts.header.subject.name,
		invented: kit.facts.header.subject.invented,
		place: here.facts.header.place,
		runs: {
			kit: restsOn(kit, own.kit.verdict.steer),
			here: restsOn(here, own.here.verdict.steer),
			home: restsOn(home, null),
		},
		shift,
		steer,
		fitness: fitnessOf(steer, 'undetermined'),
		headline: outcome.subject.invented ? `${HEADLINES[steer]} (an invented kit)` : HEADLINES[steer],
		order: orderHere(steer, orderOf(outcome)),
		decidedBy: (steer === 'no' ? notMet : open).map(({ id }) => id),
		lines,
		speaksFor: speaksFor(shorter.facts.observedMs, profileOf(shorter.facts.header.profile)),
		criteria: { name: criteria.name, hash: criteriaHash(criteria) },
	};
}

function orderHere(steer: Answer, usual: string): string {
	if (steer === 'no') return 'Do not steer by this tablet here; use a wired screen if you have one.';
	return steer === 'yes' ? `${usual} Now, as the link was measured; later measure it again.` : usual;
}

function requireRigs({ kit, here, home }: ThreeRuns): void {
	const { rig, subject } = kit.facts.header;
	if (rig !== 'optical' || subject.kind !== 'kit')
		throw new RangeError(`the kit's run must be one through its lens, got one of the rig "${rig}"`);
	for (const { facts } of [here, home])
		if (facts.header.rig !== 'link')
			throw new RangeError(`a link run is needed, got one of the rig "${facts.header.rig}"`);
}

function restsOn({ facts }: Metrics, steer: Answer | null): RestsOn {
	const { runId, startedAt, path } = facts.header;
	return { runId, startedAt, observedMs: facts.observedMs, simulatedAir: path?.air ?? null, steer };
}

type Judged = ReturnType<typeof judgeRun>;
type Own = { readonly kit: Judged; readonly here: Judged };
type Sources = { readonly three: ThreeRuns; readonly own: Own; readonly criteria: Criteria };

function lineOfKind(id: LineId, how: (typeof LINES)[number][1], sources: Sources): JudgedLine {
	const { kit, here } = sources.own;
	const kitLine = one(kit.lines, id);
	const hereLine = one(here.lines, id);
	if (how === 'kit') return asked(kitLine, kitLine.because);
	if (how === 'link') return asked(hereLine, `the link here: ${hereLine.because}`);
	const worse = worseOf(kitLine, hereLine);
	if (worse.state === 'notMet' || how === 'worse')
		return asked(worse, `${worse === kitLine ? 'the kit' : 'the link here'}: ${worse.because}`);
	return how === 'spread' ? spreadLine(kitLine, sources) : addedLine(kitLine, sources);
}

/** By the addition that costs the line least. What even then is beyond it is open, not a "no": an addition is the most that it can be. */
function addedLine(kitLine: JudgedLine, { three, criteria }: Sources): JudgedLine {
	const { shift, kitLaterBy } = three;
	if (shift.kind === 'notMeasured')
		return asked({ ...kitLine, state: 'notMeasured', bound: null, margin: null }, shift.explanation);
	const id = kitLine.id as LineId;
	const additions = id === 'age' ? shift.age : shift.delay;
	// Where none gives a bound the smallest is told.
	const tried = [...additions].reverse().flatMap(({ leftRatio, addedMs }) => {
		const limit = lineOf(criteria, id).limit! - leftRatio;
		if (limit <= 0) return [];
		const line = one(judgeLines(kitLaterBy(addedMs), narrowed(criteria, id, limit)), id);
		const bound = line.bound === null || line.state === 'notMet' ? null : line.bound + leftRatio;
		const by = `with ${Math.ceil(addedMs)} ms more than at home, but for ${(100 * leftRatio).toFixed(1)} % of the time`;
		return [{ line: { ...line, bound }, by }];
	});
	const least = tried.sort((a, b) => (a.line.bound ?? NO_BOUND) - (b.line.bound ?? NO_BOUND)).at(0);
	if (least === undefined)
		return asked(
			{ ...kitLine, state: 'undecided', bound: null, margin: null },
			'the link here gives no bound',
		);
	const { line, by } = least;
	const moved = { ...line, limit: kitLine.limit };
	return line.state === 'notMet'
		? asked(
				{ ...moved, state: 'undecided', margin: null },
				`${by} it would be beyond the limit; that is the most it can be`,
			)
		: asked(moved, `${by}: ${line.because}`);
}

/** More than any share. */
const NO_BOUND = 2;

function narrowed(criteria: Criteria, id: LineId, limit: number): Criteria {
	return { ...criteria, lines: criteria.lines.map((line) => (line.id === id ? { ...line, limit } : line)) };
}

/** Quantiles of a sum are not sums of quantiles; where kit and link are slow together they are, and that is the case to fear. */
function spreadLine(kitLine: JudgedLine, { three: { here, home } }: Sources): JudgedLine {
	const [a, b] = [here.delayVariation, home.delayVariation];
	if (a.kind === 'notMeasured' || b.kind === 'notMeasured')
		return asked(
			{ ...kitLine, state: 'notMeasured', bound: null, margin: null },
			'of one link run it was not measured',
		);
	const moreMs =
		a.spreadUpperMs === null || b.spreadLowerMs === null
			? null
			: Math.max(0, a.spreadUpperMs - b.spreadLowerMs);
	const bound = kitLine.bound === null || moreMs === null ? null : kitLine.bound + moreMs;
	const state = bound !== null && bound <= kitLine.limit! && kitLine.state === 'met' ? 'met' : 'undecided';
	const margin = bound === null ? null : (kitLine.limit! - bound) / kitLine.limit!;
	const because =
		moreMs === null
			? 'one of the link runs gives no bound for it'
			: `with ${Math.ceil(moreMs)} ms more than at home`;
	return asked({ ...kitLine, bound, state, margin }, because);
}

const RANK = { notMet: 2, notMeasured: 1, undecided: 1, met: 0, informs: 1 } as const;

function worseOf(kit: JudgedLine, here: JudgedLine): JudgedLine {
	const by = RANK[kit.state] - RANK[here.state];
	if (by !== 0) return by > 0 ? kit : here;
	return (here.bound ?? 0) > (kit.bound ?? 0) ? here : kit;
}

function asked(line: JudgedLine, because: string): JudgedLine {
	return { ...line, required: ['steer'], because };
}

function one(lines: readonly JudgedLine[], id: LineId): JudgedLine {
	return lines.find((line) => line.id === id)!;
}

/** What keeps a "yes" back though no line does, as an order; null: nothing. */
function firstHold({ kit, here, home, shift }: ThreeRuns, own: Own): string | null {
	const { facts } = home;
	if (shift.kind === 'notMeasured')
		return `make one link run at home and one here with the same tablet and settings (${shift.explanation})`;
	if (facts.torn !== false || !(facts.observedMs >= HOME_OBSERVED_MS))
		return `make the run at home again, of ${HOME_OBSERVED_MS / 1000} s or more and to its own end`;
	if (own.kit.verdict.steer !== 'yes')
		return `settle the kit by itself first (${kit.facts.header.runId}); its own report says how`;
	if (own.here.verdict.steer !== 'yes')
		return `settle the link here first (${here.facts.header.runId}); its own report says how`;
	return null;
}

function openWords(line: JudgedLine | undefined): string | null {
	return line === undefined
		? null
		: `change the place or the channel and measure the link afresh (${line.label}: ${line.because})`;
}
