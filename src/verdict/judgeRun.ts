/**
 * A run judged: its lines, the two answers, and the verdict that is told (design.md 6).
 *
 * What a wrong "fit" costs decides every doubtful turn here: an answer is yes only when every required line is met, the
 * run is the one its profile declared, and its subject is one that this rig can speak for.
 */
import type { Metrics } from '../metrics/metric.ts';
import { type Answered, answer } from './answers.ts';
import { type Criteria, criteriaHash, lineOf, standardCriteria } from './criteria.ts';
import { judgeLines } from './judgeLines.ts';
import { profileOf, speaksFor, VERDICT_OBSERVED_MS } from './profiles.ts';
import { requirementOf } from './requiredLines.ts';
import { roomLeftMs } from './roomLeft.ts';
import type { JudgedLine, Verdict } from './verdict.ts';
import { fitnessOf, headlineOf, type Outcome, orderOf, subjectWords } from './verdictWords.ts';

/**
 * `recording`: of the kit's own recording, where a filmed kit's session holds one; the record answer and its lines are then those of that file.
 * Throws `RangeError` for criteria that lack a line or moved the half-second line: `parseCriteria` lets no such file through.
 */
export function judgeRun(
	metrics: Metrics,
	criteria: Criteria,
	recording?: Metrics,
): { lines: JudgedLine[]; verdict: Verdict } {
	requireHalfSecond(criteria);
	const own = judgeLines(metrics, criteria);
	const steer = answer(metrics, own, 'steer');
	if (recording === undefined || !takesRecording(metrics, recording)) {
		const record = answer(metrics, own, 'record');
		return { lines: own, verdict: verdictOf(metrics, own, { steer, record, criteria }) };
	}
	const recorded = judgeLines(recording, criteria);
	const record = answer(recording, recorded, 'record');
	const lines = own.map((line, i) => (recorded[i]!.required.includes('record') ? recorded[i]! : line));
	return { lines, verdict: verdictOf(metrics, lines, { steer, record, criteria }) };
}

/** Only where the rig's own record answer lies elsewhere, and only a recording's. */
function takesRecording(metrics: Metrics, recording: Metrics): boolean {
	const { rig } = metrics.facts.header;
	return requirementOf(rig, 'record').kind === 'elsewhere' && recording.facts.header.rig === 'recording';
}

type Judged = { readonly steer: Answered; readonly record: Answered; readonly criteria: Criteria };

function verdictOf(metrics: Metrics, lines: readonly JudgedLine[], judged: Judged): Verdict {
	const { steer, record, criteria } = judged;
	const { header, observedMs } = metrics.facts;
	const steerLines = lines.filter((line) => line.required.includes('steer'));
	const asked = leading(steer, record);
	const room =
		steer.answer === 'yes' && header.subject.kind === 'link' ? roomLeftMs(metrics, steerLines) : null;
	const openLines = lines.filter((line) => asked.decidedBy.includes(line.id));
	const settleBySeconds = asked.answer === 'undetermined' ? settleBy(metrics, asked, openLines) : null;
	const outcome: Outcome = {
		subject: header.subject,
		steer: steer.answer,
		record: record.answer,
		roomLeftMs: room,
		nothingAgainst: header.profile === 'brief' && steerLines.every(nothingSeenAgainst),
		next: nextStep(metrics, { asked, openLines, settleBySeconds }),
	};
	return {
		fitness: fitnessOf(steer.answer, record.answer),
		steer: steer.answer,
		record: record.answer,
		headline: headlineOf(outcome),
		order: orderOf(outcome),
		subject: subjectWords(header.subject),
		roomLeftMs: room,
		margin: smallestMargin(steerLines),
		decidedBy: decidedBy(steer, record),
		settleBySeconds,
		speaksFor: speaksFor(observedMs, profileOf(header.profile)),
		criteria: { name: criteria.name, hash: criteriaHash(criteria) },
	};
}

function requireHalfSecond(criteria: Criteria): void {
	const line = lineOf(criteria, 'half-second');
	const standard = lineOf(standardCriteria, 'half-second');
	const same = line.level === standard.level && line.limit === standard.limit && line.limitLong === null;
	if (!same || line.direction !== standard.direction) {
		throw new RangeError(`the half-second line of "${criteria.name}" is not the standard one`);
	}
}

/** The answer whose openness is told: steering where it is asked and open, otherwise recording. */
function leading(steer: Answered, record: Answered): Answered {
	return steer.answer === 'undetermined' ? steer : record.answer === 'undetermined' ? record : steer;
}

function decidedBy(steer: Answered, record: Answered): string[] {
	if (steer.answer === 'notAsked') return [...record.decidedBy];
	const both = steer.answer === 'no' && record.answer === 'no';
	return both ? [...new Set([...steer.decidedBy, ...record.decidedBy])] : [...steer.decidedBy];
}

function smallestMargin(steerLines: readonly JudgedLine[]): number | null {
	const margins = steerLines.flatMap(({ margin }) => (margin === null ? [] : [margin]));
	return margins.length === 0 ? null : Math.min(...margins);
}

/** For "nothing against it": no reading beyond its limit, no rare event seen, and every line read. */
function nothingSeenAgainst(line: JudgedLine): boolean {
	if (line.reading === null || line.limit === null || line.state === 'notMet') return false;
	return line.unit === 'perMin' ? line.reading === 0 : line.reading <= line.limit;
}

/** About how many more seconds than this run observed; null when longer will not settle it. */
function settleBy(metrics: Metrics, asked: Answered, openLines: readonly JudgedLine[]): number | null {
	if (asked.holds.some(({ longerLifts }) => !longerLifts)) return null;
	if (!openLines.every((line) => line.longerWillSettle)) return null;
	const { observedMs, header } = metrics.facts;
	const declaredMs = Math.max(profileOf(header.profile).observedMs, VERDICT_OBSERVED_MS);
	const shortMs = asked.holds.length > 0 && Number.isFinite(observedMs) ? declaredMs - observedMs : 0;
	const shortSeconds = Math.ceil(Math.max(0, shortMs) / 30_000) * 30;
	const seconds = Math.max(shortSeconds, ...openLines.map((line) => line.settleBySeconds ?? 0));
	return seconds > 0 ? seconds : null;
}

type Open = {
	readonly asked: Answered;
	readonly openLines: readonly JudgedLine[];
	readonly settleBySeconds: number | null;
};

/** What to do next, as the end of an order. */
function nextStep({ facts }: Metrics, { asked, openLines, settleBySeconds }: Open): string {
	const hold = asked.holds[0];
	if (hold !== undefined) return hold.next;
	const unmeasured = openLines.find((line) => line.state === 'notMeasured');
	if (unmeasured !== undefined) return `have "${unmeasured.label}" measured (${unmeasured.because})`;
	if (settleBySeconds !== null) {
		const minutes = Math.ceil((facts.observedMs / 1000 + settleBySeconds) / 60);
		return `make a fresh run of about ${minutes} min or more`;
	}
	const first = openLines[0];
	const reason = first === undefined ? '' : ` (${first.because})`;
	return `change the place, the channel or the settings and run afresh; a longer run alone will not settle it${reason}`;
}
