/**
 * What often has such a period near a yard. A candidate is a place to look, never a finding: many things share a period, and
 * this table does not hold them all. Each row names its source, or says that it has none.
 */
export type Cause = {
	readonly id: string;
	/** What it would be. */
	readonly name: string;
	/** What to try, harmless and reversible; nobody's fence is switched off without its owner. */
	readonly attempt: string;
	readonly source: string;
};

type Row = Cause & {
	readonly fits: (periodS: number, slackS: number) => boolean;
};

const NO_SOURCE = 'common practice, no source';

const between =
	(fromS: number, toS: number): Row['fits'] =>
	(periodS, slackS) =>
		periodS + slackS >= fromS && periodS - slackS <= toS;
/** Whole multiples of a short period are what a slower look at it shows. */
const near =
	(...periodsS: number[]): Row['fits'] =>
	(periodS, slackS) =>
		periodsS.some((expected) => Math.abs(periodS - expected) <= slackS + 0.002 * expected);

const ROWS: readonly Row[] = [
	{
		id: 'fence',
		name: 'an electric fence energiser',
		attempt:
			'Move tablet and scope away from fence wire and its lead-out cable, or to the other side of the building. To be sure, ask the owner of the fence to pause it for a minute and run again; never switch it off yourself.',
		source:
			'IEC 60335-2-76 asks at least 1 s between the pulses of an energiser (from memory, not read); 1.0 to 1.6 s: common practice',
		fits: between(0.99, 1.65),
	},
	{
		id: 'mainsDouble',
		name: 'something fed from the mains, at twice the mains frequency (lamps, drives, chargers)',
		attempt:
			'Run the laptop and the kit from their batteries; have lamps, fans or clippers close by off for one run.',
		source: 'twice 50 Hz or 60 Hz: arithmetic; that such things disturb a radio: common practice, no source',
		fits: near(0.01, 1 / 120),
	},
	{
		id: 'mains',
		name: 'something fed from the mains, at its frequency (a microwave oven, a drive)',
		attempt:
			'Have microwave ovens and motors close by off for one run; use a 5 or 6 GHz channel, which ovens do not reach.',
		source: 'mains of 50 Hz or 60 Hz; ovens send in one half of the mains period: common practice, no source',
		fits: near(0.02, 1 / 60),
	},
	{
		id: 'beacon',
		name: "a Wi-Fi network's own beat, or a device that sleeps between its calls (power saving)",
		attempt:
			'Keep the tablet on charge and its screen on, switch its power saving off, and close other apps; then run again.',
		source:
			'beacon interval of 100 time units, 102.4 ms, and its multiples (standards.md 7); common practice',
		fits: near(0.1024, 0.2048, 0.3072, 1.024, 2.048),
	},
	{
		id: 'scan',
		name: 'a device that looks for other networks every so often',
		attempt:
			'Close the list of networks in the settings of tablet, laptop and phones nearby; switch location services off for one run.',
		source: NO_SOURCE,
		fits: between(4, 180),
	},
	{
		id: 'stream',
		name: 'a second stream of pictures on the same channel (a camera, a stable monitor)',
		attempt: 'Find out who else streams here, and change the channel or pause the other stream for one run.',
		source:
			'picture rates of 24 to 60 a second and key pictures every half second to 4 s: common practice, no source',
		fits: (periodS, slackS) =>
			between(1 / 61, 1 / 23.9)(periodS, Math.min(slackS, 0.0005)) || near(0.5, 2, 4)(periodS, slackS),
	},
];

/** Rows that fit, in the table's order; none where nothing known has such a period. */
export function candidateCauses(periodS: number, periodUncertaintyS: number): Cause[] {
	return ROWS.filter(({ fits }) => fits(periodS, periodUncertaintyS)).map(
		({ id, name, attempt, source }) => ({
			id,
			name,
			attempt,
			source,
		}),
	);
}
