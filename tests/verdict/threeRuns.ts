/** The records of a kit filmed at home, and of links of one tablet at home and elsewhere, all in virtual time. */
import type { Header, ObservationRecord } from '../../src/observations/records.ts';
import { filmInvented, inventedSession } from '../../src/rigs/optical/inventedFilm.ts';
import { opticalRecords } from '../../src/rigs/optical/opticalRecords.ts';
import { airPresets } from '../../src/simulation/airPresets.ts';
import type { AirSpec } from '../../src/simulation/airSpec.ts';
import { inventedKits, kitRunSpec } from '../../src/simulation/inventedKits.ts';
import { simulateLinkRun } from '../../src/simulation/virtualLink.ts';

export const clear = airPresets.get('clear')!.spec;

type LinkPlan = {
	readonly over?: Partial<Header>;
	readonly observedMs?: number;
	/** Of scope and app; none on a link alone. */
	readonly addedDelayMs?: number;
};

export function linkRecords(
	air: AirSpec,
	seed: number,
	{ over = {}, observedMs = 311_000, addedDelayMs = 0 }: LinkPlan = {},
): ObservationRecord[] {
	const label = {
		profile: 'verdict',
		runId: `link-${seed}`,
		toolVersion: '0',
		startedAt: '2030-05-01T08:00:00Z',
	} as const;
	const spec = {
		...kitRunSpec(inventedKits[0]!, { ...label, observedMs, seed }),
		...{ subject: { kind: 'link', name: 'the tablet', invented: false } as const, addedDelayMs, air },
		...{ pictureLoss: null, colour: null, likeness: null },
	};
	return [...simulateLinkRun(spec)].map((record) =>
		record.kind === 'header'
			? { ...record, viewerAgent: 'Mozilla/5.0 (Linux; Slate 4) Chrome/140', place: 'the arch', ...over }
			: record,
	);
}

export function kitRecords(): ObservationRecord[] {
	return opticalRecords({
		...{
			runId: 'lark',
			toolVersion: '0',
			startedAt: '2030-04-01T08:00:00Z',
			kit: 'the lark',
			invented: false,
		},
		...{ place: null, profile: 'verdict', turnedAsMeant: false, card: null, light: null, unread: [] },
		clips: inventedSession(20).map(filmInvented),
	});
}
