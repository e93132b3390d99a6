/**
 * May I steer: what a yard check answers, from the run that speaks last for its place, with what was judged, when, and what speaks
 * against it. Decides no line; what it does decide is which run may still be gone by.
 */
import { turnOf, type YardReading, type YardRun, type YardSession } from '../verdict/yardSession.ts';

type Measured = YardRun & { readonly reading: YardReading };

/** The run that answers: the last full one; a later look at its place that says no stands in its stead. */
export function answeringRun({ verdictRuns, visits, enduranceRuns }: YardSession): Measured | null {
	const run = verdictRuns.findLast(isMeasured);
	if (run === undefined) return null;
	const looks = [...visits, ...enduranceRuns].filter(isMeasured);
	const saysNo = looks.filter((look) => look.place === run.place && isNo(look) && turnOf(look) > turnOf(run));
	return saysNo.sort((a, b) => turnOf(a) - turnOf(b)).at(-1) ?? run;
}

/** Double line for steering, hatched for unfit, dotted for not yet; what was measured long ago steers nobody. */
export function answerFrame(session: YardSession): 'steering' | 'unfit' | 'undetermined' {
	const run = answeringRun(session);
	if (run === null) return 'undetermined';
	if (isNo(run)) return 'unfit';
	return run.reading.steer === 'yes' && !session.staleRuns.includes(run.runId) ? 'steering' : 'undetermined';
}

const NO_BEFORE =
	'A run before it, at this same place, said no. What was bad then can come back: unless you know what it was and have put it right, go by that one.';
const NOT_IN_IT =
	'It speaks of this tablet over this air, here and then; the scope and its app were not in it. The visits that chose this place are not in this answer: its run began afresh.';
const OTHER_NETWORK =
	'It was measured over this laptop’s own network. Where the kit sends over its own, that one has another channel and another radio, and was not measured.';

export function answerWords(session: YardSession): string[] {
	const run = answeringRun(session);
	const nameOf = ({ place }: YardRun): string => session.places[place]?.name ?? '?';
	if (run === null)
		return [
			'Not enough evidence yet: treat as not fit to steer. No full run was made at any place.',
			...ruledOut(session).map((visit) => `${nameOf(visit)}, by two minutes: ${visit.reading.headline}.`),
		];
	const { reading } = run;
	const headline = `${nameOf(run)}: ${reading.headline}`;
	const isOld = session.staleRuns.includes(run.runId);
	const before = [...session.verdictRuns, ...session.visits, ...session.enduranceRuns]
		.filter(isMeasured)
		.filter((other) => other !== run);
	const wasNo = before.some((other) => other.place === run.place && isNo(other));
	return [
		isOld ? `${nameOf(run)}: measured an hour ago or more. Run again here before you steer by it.` : headline,
		...(isOld
			? [`What it said then: ${reading.headline}. The air has had time to change.`]
			: [reading.order]),
		...(wasNo && reading.steer === 'yes' ? [NO_BEFORE] : []),
		...reading.against.map((line) => `Against it: ${line}.`),
		...madeWords(reading),
		...(session.wifi === 'laptop' ? [OTHER_NETWORK] : []),
		...(session.verdictRuns.includes(run)
			? [NOT_IN_IT]
			: ['It is a later look at the place of the run before it, and what it says goes before that.']),
		...before
			.filter((other) => session.verdictRuns.includes(other))
			.map((other) => `Before it, ${nameOf(other)}: ${other.reading.headline}.`),
	];
}

/** The last visit of each place whose last visit says no. */
function ruledOut({ places, visits }: YardSession): Measured[] {
	return places.flatMap((_, place) => {
		const last = visits.filter(isMeasured).findLast((visit) => visit.place === place);
		return last !== undefined && isNo(last) ? [last] : [];
	});
}

function madeWords({ made }: YardReading): string[] {
	if (made === null) return [];
	const { subject, startedAt, observedS } = made;
	const when = startedAt === '' ? '' : `, from ${startedAt.slice(0, 16).replace('T', ' ')} UTC`;
	return [`Judged: ${subject}; ${observedS.toFixed(0)} s observed${when}.`];
}

function isMeasured(run: YardRun): run is Measured {
	return run.state === 'done' && run.reading !== null;
}

function isNo({ reading }: YardRun): boolean {
	return reading?.steer === 'no';
}
