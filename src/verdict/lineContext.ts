/** What the rule for a line may look at: the run, the line, the limit that its profile sets, and the harness's own doings. */
import type { HarnessHealth, Metrics } from '../metrics/metric.ts';
import type { Header } from '../observations/records.ts';
import type { CriteriaLine } from './criteriaLine.ts';
import type { Profile } from './profiles.ts';

export type LineContext = {
	readonly metrics: Metrics;
	readonly line: CriteriaLine;
	/** The line's limit in this profile. */
	readonly limit: number;
	readonly profile: Profile;
	readonly rig: Header['rig'];
};

type HarnessShare = keyof HarnessHealth['lateSharePerLine'];

/**
 * Why the harness leaves a line undecided, or null: its own lateness or silences fill more than half of what the line
 * allows, so that a reading may be the bench's and not the link's (design.md 6). A harness that was not measured leaves
 * every such line undecided.
 */
export function harnessHold(
	{ metrics }: LineContext,
	key: HarnessShare,
	allowedShare: number,
): string | null {
	const { harness } = metrics;
	if (harness.kind === 'notMeasured') {
		return `this computer’s own lateness was not measured: ${harness.explanation}`;
	}
	const lateShare = harness.lateSharePerLine[key];
	if (lateShare >= 0 && lateShare <= allowedShare / 2) return null;
	const said = Number.isFinite(lateShare)
		? `for ${(100 * lateShare).toPrecision(2)} % of the time`
		: 'unclear';
	return `this computer’s own lateness (${said}) fills more than half of what the line allows`;
}
