/**
 * Every line of the criteria judged for one run, and which of them this rig must have met. A line that is not required
 * informs: it keeps its reading and bound, gates nothing and never makes an answer undetermined.
 */
import type { Metrics } from '../metrics/metric.ts';
import type { Header } from '../observations/records.ts';
import { type Criteria, lineLabel, lineOf } from './criteria.ts';
import { type CriteriaLine, LINE_IDS, type LineId } from './criteriaLine.ts';
import type { Decision } from './decision.ts';
import { decideLine } from './decisionRule.ts';
import { profileOf } from './profiles.ts';
import { requirementOf } from './requiredLines.ts';
import type { JudgedLine } from './verdict.ts';

/** The reason by which a metric says that there was nothing proper to compare with. */
const NO_REFERENCE = 'noReference';

export function judgeLines(metrics: Metrics, criteria: Criteria): JudgedLine[] {
	const required = {
		steer: requiredIds(metrics, 'steer'),
		record: requiredIds(metrics, 'record'),
	};
	return LINE_IDS.map((id) => {
		const line = lineOf(criteria, id);
		const requiredFor = (['steer', 'record'] as const).filter((answer) => required[answer].includes(id));
		return judgeLine(metrics, line, requiredFor);
	});
}

/** The lines that the run's rig must have met for that answer; none where the answer is not asked or lies elsewhere. */
export function requiredIds(metrics: Metrics, answer: 'steer' | 'record'): readonly LineId[] {
	const requirement = requirementOf(metrics.facts.header.rig, answer);
	if (requirement.kind !== 'asked') return [];
	const referenced = requirement.whereReferenced.filter((id) => hasReference(metrics, id));
	return [...requirement.always, ...referenced];
}

/** Only a metric that says it had no reference is let off; anything else unmeasured stays required. */
function hasReference(metrics: Metrics, id: LineId): boolean {
	const { sharpness } = metrics;
	if (id === 'detail' && sharpness.kind === 'measured') return sharpness.ofReferenceRatio !== null;
	const metric = id === 'detail' ? sharpness : metrics.colour;
	return !(metric.kind === 'notMeasured' && metric.reason === NO_REFERENCE);
}

function judgeLine(metrics: Metrics, line: CriteriaLine, required: JudgedLine['required']): JudgedLine {
	const { header } = metrics.facts;
	const limit = limitIn(line, header.profile);
	const profile = profileOf(header.profile);
	const decision = decideLine({ metrics, line, limit: limit ?? Number.NaN, profile, rig: header.rig });
	return {
		id: line.id,
		gates: line.gates,
		required,
		label: lineLabel(line),
		unit: line.unit,
		limit,
		reading: decision.reading,
		bound: decision.bound,
		state: required.length > 0 ? decision.state : 'informs',
		because: required.length > 0 ? decision.because : `informs only; ${decision.because}`,
		margin: marginOf(metrics, line, decision),
		source: line.source,
		strength: line.strength,
		settleBySeconds: decision.settle.seconds,
		longerWillSettle: decision.settle.longerWillSettle,
	};
}

function limitIn(line: CriteriaLine, profile: Header['profile']): number | null {
	return profile === 'long' ? (line.limitLong ?? line.limit) : line.limit;
}

/**
 * Room to spare, in units of the line's scale: (limit - bound) / scale. No bound, no margin. The half-second line has its
 * scale on the median, whose bound is a figure of its own.
 */
function marginOf(metrics: Metrics, line: CriteriaLine, decision: Decision): number | null {
	if (line.scale === null) return null;
	const [limit, bound] =
		line.unit === line.scaleUnit
			? [line.limit, decision.boundTowardsLimit]
			: [line.level, metrics.freshDelay.kind === 'measured' ? metrics.freshDelay.medianUpperMs : null];
	if (limit === null || bound === null || decision.state === 'notMeasured') return null;
	const margin = (limit - bound) / line.scale;
	return Number.isFinite(margin) ? margin : null;
}
