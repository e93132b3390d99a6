/** What the rehearsal says: reading beside truth, in columns that fit a terminal of 80. */
import { formatMs, formatShare } from '../report/numbers.ts';
import { framed, wrapText } from '../report/textLayout.ts';
import type { InventedKit } from '../simulation/inventedKits.ts';
import { terminal } from './printResult.ts';
import type { FullRun, Leg } from './rehearsal.ts';

const COLUMNS = 80;
/** Half the step of the stamps' rounding and of the median between two samples; beyond it the clock's bound speaks. */
const READING_STEP_MS = 0.05;

export type Agreement = Leg & { readonly delayAgrees: boolean; readonly ledgerAgrees: boolean };

/** A reading agrees when it is within its own stated uncertainty of the truth; a count, when it is the count. */
export function judgeLeg(leg: Leg): Agreement {
	return {
		...leg,
		delayAgrees: Math.abs(leg.medianMs - leg.trueMedianMs) <= leg.clockBoundMs + READING_STEP_MS,
		ledgerAgrees: leg.lostRead === leg.droppedTruly,
	};
}

export function opening(): string {
	return paragraph(
		'Three invented kits at an invented yard, and a fourth that is a closed box. For each of the three: a short real leg' +
			' (H.264 over sockets, a relay that stands for the air) beside what really happened. Then five minutes in virtual' +
			' time, judged as any kit is, beside the truth that they were made with.',
	);
}

export function introduce(kit: InventedKit): string {
	return `${kit.name.toUpperCase()} (invented)\n${paragraph(kit.story)}`;
}

export function describeLeg(leg: Agreement): string {
	const doubt = `give or take ${formatMs(leg.clockBoundMs)}`;
	return [
		row('Real leg', 'read', 'true', ''),
		row(
			'delay, made to decoded',
			formatMs(leg.medianMs),
			formatMs(leg.trueMedianMs),
			`${doubt}: ${leg.delayAgrees ? 'agrees' : 'DIFFERS'}`,
		),
		row('  of it added by the relay', '', formatMs(leg.relayAddedMs), 'from its own log'),
		row(
			'pictures lost',
			`${leg.lostRead}`,
			`${leg.droppedTruly}`,
			`of ${leg.sent}: ${leg.ledgerAgrees ? 'agrees' : 'DIFFERS'}`,
		),
		'\n',
	].join('');
}

export function describeFull(kit: InventedKit, { folder, result, truth }: FullRun): string {
	return [
		row('Five minutes', 'read', 'true', ''),
		...figureRows(result, truth),
		answerBlock({ result, folder, deserved: kit.truth }),
	].join('');
}

type Told = {
	readonly result: FullRun['result'];
	readonly folder: string;
	readonly deserved: { readonly steer: string; readonly record: string; readonly because: string };
};

/** The verdict in its frame, whether it is the one deserved, and where the report lies. */
export function answerBlock({ result, folder, deserved }: Told): string {
	const { verdict } = result;
	const { steer, record, because } = deserved;
	const asDeserved = verdict.steer === steer && verdict.record === record;
	const { columns, glyphs } = terminal();
	const frame = framed([verdict.headline, '', verdict.order], verdict.fitness, {
		columns: Math.min(columns, COLUMNS),
		glyphs,
	});
	return [
		'\n',
		`${frame.join('\n')}\n`,
		paragraph(
			`Answered: steer ${verdict.steer}, record ${verdict.record}. Deserved: steer ${steer}, record ${record}, being ${because}.` +
				` ${asDeserved ? 'As deserved.' : 'NOT AS DESERVED.'}`,
		),
		`Report: ${folder}/report.html\n\n\n`,
	].join('');
}

function figureRows({ metrics }: FullRun['result'], truth: FullRun['truth']): string[] {
	const { freshDelay, pictureAge, frames } = metrics;
	const rows: string[] = [];
	if (freshDelay.kind === 'measured' && freshDelay.p95Ms !== null)
		rows.push(
			row('delay, 19 times in 20 under', formatMs(freshDelay.p95Ms), formatMs(truth.p95FreshDelayMs), ''),
		);
	if (pictureAge.kind === 'measured') {
		const share = formatShare(pictureAge.shareOverLimitRatio);
		if (pictureAge.p95Ms !== null)
			rows.push(row('how old, 19 times in 20', formatMs(pictureAge.p95Ms), formatMs(truth.p95AgeMs), ''));
		rows.push(row('time with a picture too old', share, formatShare(truth.ageOverLimitRatio), ''));
	}
	if (frames.kind === 'measured') {
		const lost = truth.fates.lost + truth.fates.late;
		rows.push(row('pictures lost', `${frames.lost + frames.late}`, `${lost}`, `of ${frames.sent}`));
	}
	return rows;
}

export function row(name: string, read: string, truth: string, note: string): string {
	return `  ${name.padEnd(28)}${read.padStart(10)}${truth.padStart(10)}  ${note}`.trimEnd().concat('\n');
}

export function paragraph(text: string): string {
	return `${wrapText(text, COLUMNS).join('\n')}\n\n`;
}
