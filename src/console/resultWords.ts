/** A result as the laptop's page shows it first; everything else is in the report. */
import type { RunResult } from '../protocol/console.ts';
import { keyFigureRows } from '../report/figures.ts';
import { formatMs } from '../report/numbers.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';

export function resultWords({ run, metrics, verdict, warnings }: ResultDocument): RunResult {
	const { fitness, headline, order, subject, speaksFor, roomLeftMs } = verdict;
	return {
		...{ runId: run.id, fitness, headline, order, subject, speaksFor },
		roomLeft:
			roomLeftMs === null
				? null
				: `${formatMs(roomLeftMs)} for the scope and its app, which were not in the loop`,
		figures: keyFigureRows(metrics, run.measuringPoints, run.rig).map(({ name, value }) => [name, value]),
		warnings: warnings.map(({ seen, advice }) => `${seen} ${advice}`),
		reportUrl: `/runs/${run.id}/report.html`,
	};
}
