/** What the rehearsal says: reading beside truth, in columns that fit a terminal of 80. */
import { formatMs, formatShare } from '../report/numbers.ts';
import { framed } from '../report/textLayout.ts';
import type { InventedKit } from '../simulation/inventedKits.ts';
import { terminal } from './printResult.ts';
import type { FullRun, Leg } from './rehearsal.ts';

/** Above this share of both processors a short leg says more about the computer than about the link. */
const BUSY_RATIO = 0.85;

export type Agreement = {
	readonly readMs: number;
	readonly trueMs: number;
	/** k = 2, of the reading and of the floor it is compared with. */
	readonly uncertaintyMs: number;
	readonly relayAddedMs: number;
	readonly floorMs: number;
	readonly delayAgrees: boolean;
	readonly lostRead: number;
	readonly droppedTruly: number;
	readonly ledgerAgrees: boolean;
	readonly tooBusy: boolean;
};

/** True delay = what this computer needs with nothing in the way, and what the relay really added. */
export function judgeLeg(leg: Leg, floor: Leg): Agreement {
	const floorMs = floor.medianMs - floor.relayAddedMs;
	const trueMs = floorMs + leg.relayAddedMs;
	const uncertaintyMs = Math.hypot(leg.uncertaintyMs, floor.uncertaintyMs);
	const busiest = Math.max(leg.busyRatio ?? 0, floor.busyRatio ?? 0);
	return {
		readMs: leg.medianMs,
		trueMs,
		uncertaintyMs,
		relayAddedMs: leg.relayAddedMs,
		floorMs,
		delayAgrees: Math.abs(leg.medianMs - trueMs) <= uncertaintyMs,
		lostRead: leg.lostRead,
		droppedTruly: leg.droppedTruly,
		ledgerAgrees: leg.lostRead === leg.droppedTruly,
		tooBusy: busiest > BUSY_RATIO,
	};
}

export function opening(): string {
	return [
		'Three invented kits at an invented yard. For each: a short real leg (H.264,',
		'sockets, a relay that stands for the air) beside what the relay really did,',
		'then five minutes in virtual time, judged as any kit is, beside what is true.',
		'',
		'',
	].join('\n');
}

export function describeLeg(kit: InventedKit, leg: Agreement | null, wanted: boolean): string {
	const title = `${kit.name} (invented)\n${kit.story}\n\n`;
	if (leg === null) return `${title}${wanted ? '  Real leg: none, for the reason given above.\n\n' : ''}`;
	const rows = [
		row('Real leg', 'read', 'true', ''),
		row(
			'delay, made to decoded',
			`${formatMs(leg.readMs)}`,
			`${formatMs(leg.trueMs)}`,
			`give or take ${formatMs(leg.uncertaintyMs)}: ${leg.delayAgrees ? 'agrees' : 'DIFFERS'}`,
		),
		row('pictures lost', `${leg.lostRead}`, `${leg.droppedTruly}`, leg.ledgerAgrees ? 'agrees' : 'DIFFERS'),
	];
	const busy = leg.tooBusy
		? '  This computer was busy meanwhile: the real leg speaks for it, not for the link.\n'
		: '';
	const parts = `  (true: ${formatMs(leg.relayAddedMs)} by the relay, ${formatMs(leg.floorMs)} this computer's own)\n`;
	return `${title}${rows.join('')}${parts}${busy}\n`;
}

export function describeFull(kit: InventedKit, { folder, result, truth }: FullRun): string {
	const { freshDelay, pictureAge, frames } = result.metrics;
	const rows = [row('Five minutes', 'read', 'true', '')];
	if (freshDelay.kind === 'measured') {
		rows.push(
			row('delay, 19 times in 20 under', formatMs(freshDelay.p95Ms), formatMs(truth.p95FreshDelayMs), ''),
		);
	}
	if (pictureAge.kind === 'measured') {
		const share = formatShare(pictureAge.shareOverLimitRatio);
		rows.push(row('picture age, 19 times in 20', formatMs(pictureAge.p95Ms), formatMs(truth.p95AgeMs), ''));
		rows.push(row('time with a picture too old', share, formatShare(truth.ageOverLimitRatio), ''));
	}
	if (frames.kind === 'measured') {
		const lost = truth.fates.lost + truth.fates.late;
		rows.push(row('pictures lost', `${frames.lost + frames.late}`, `${lost}`, `of ${frames.sent}`));
	}
	const { verdict } = result;
	const { steer, record, because } = kit.truth;
	const deserved = verdict.steer === steer && verdict.record === record;
	const { columns, glyphs } = terminal();
	const frame = framed([verdict.headline], verdict.fitness, { columns: Math.min(columns, 80), glyphs });
	return [
		...rows,
		`${frame.join('\n')}\n`,
		`  Deserved: steer ${steer}, record ${record} (${because}).\n`,
		`  Answered: steer ${verdict.steer}, record ${verdict.record}. ${deserved ? 'As deserved.' : 'NOT AS DESERVED.'}\n`,
		`  Report: ${folder}/report.html\n\n\n`,
	].join('');
}

function row(name: string, read: string, truth: string, note: string): string {
	return `  ${name.padEnd(29)}${read.padStart(9)}${truth.padStart(10)}  ${note}`.trimEnd().concat('\n');
}
