/** A yard check in the words in which the laptop's page shows it. */
import { candidateCauses } from '../metrics/repeatCauses.ts';
import type { YardCheck } from '../protocol/yard.ts';
import { answerFrame } from '../report/yardAnswer.ts';
import {
	BACK_TO_THE_KIT,
	FILM_INSTEAD,
	planWords,
	ROLES,
	runWords,
	WIFI_WORDS,
	yardSections,
} from '../report/yardWords.ts';
import { nextStep, planOf, type YardSession } from '../verdict/yardSession.ts';

export function yardView(
	session: YardSession,
	{
		channel,
		isMeasuring,
		pageUrl,
	}: { readonly channel: string[]; readonly isMeasuring: boolean; readonly pageUrl: string },
): YardCheck {
	const step = nextStep(session);
	const { name, startedAt, places, home, stopped } = session;
	const plan = planOf(session);
	return {
		...{ name, startedAt, step: step.kind, isStopped: stopped, isMeasuring, channel, pageUrl },
		wifiWords: Object.entries(WIFI_WORDS),
		places: places.map((place, i) => ({
			name: place.name,
			where: [
				place.distanceM === null ? '' : `${place.distanceM} m away`,
				place.heightM === null ? '' : `${place.heightM} m high`,
			]
				.filter((words) => words !== '')
				.join(', '),
			runs: runsAt(session, i),
		})),
		next:
			'place' in step
				? {
						place: step.place,
						name: places[step.place]?.name ?? '?',
						words: runWords(step.kind, plan),
					}
				: null,
		plan: session.minutes === null || places.length === 0 ? [] : planWords(plan),
		roles: [...ROLES],
		film: [...FILM_INSTEAD],
		sections: yardSections(session, candidateCauses).map(({ title, items }) => ({
			title,
			items: [...items],
		})),
		frame: answerFrame(session),
		walkToNote: session.walkRuns.find(({ state, note }) => state === 'done' && note === null)?.runId ?? null,
		home: home?.runId ?? null,
		backToKit: [...BACK_TO_THE_KIT],
	};
}

function runsAt({ visits, verdictRuns }: YardSession, place: number): string {
	const here = (runs: YardSession['visits']): number =>
		runs.filter((run) => run.place === place && run.state === 'done').length;
	const [looked, answered] = [here(visits), here(verdictRuns)];
	const failed = visits.some((run) => run.place === place && run.state === 'nothingMeasured');
	return [
		looked === 0 ? '' : `${looked} visit${looked === 1 ? '' : 's'}`,
		answered === 0 ? '' : 'looked at longer',
		failed && looked === 0 ? 'could not be measured' : '',
	]
		.filter((words) => words !== '')
		.join(', ');
}
