/** What a recording's timeline and file say beyond counts, each by its name, in words for the person who made it. */
import type { ClipNote } from '../../imaging/clipFrame.ts';
import type { RecordingEvent } from './recordingRecords.ts';
import type { RecordingTimeline } from './recordingTimeline.ts';

const RATE_DIGITS = 1;

export function findingsOf(
	timeline: RecordingTimeline,
	notes: readonly ClipNote[],
	damaged: number,
): RecordingEvent[] {
	const { stretch, pictureHz, frameHz, retiming, rateConverted, stable, unreadFrames, frames } = timeline;
	const events: RecordingEvent[] = [];
	if (stretch !== 1)
		events.push({
			code: 'stretched',
			detail: `the file plays ${stretch > 1 ? 'slower' : 'faster'} than it was recorded: its times are ${stretch.toFixed(stretch % 1 === 0 ? 0 : 2)} times the true ones`,
		});
	if (rateConverted)
		events.push({
			code: 'rateConverted',
			detail: `the kit’s ${pictureHz.toFixed(RATE_DIGITS)} pictures a second are stored as ${frameHz.toFixed(RATE_DIGITS)} by repeating some at a steady beat`,
		});
	if (retiming.count > 0)
		events.push({
			code: 'retimed',
			detail: `at ${retiming.count} places the file’s times do not follow the card, ${Math.abs(retiming.closedUpMs).toFixed(0)} ms in all ${retiming.closedUpMs > 0 ? 'left out' : 'put in'}: its times are not those of the pictures`,
		});
	if (!stable)
		events.push({
			code: 'cadenceUnstable',
			detail: 'the pictures come at no steady rate of their own, so lost ones cannot be counted',
		});
	if (unreadFrames > 0)
		events.push({
			code: 'cardUnread',
			detail: `in ${unreadFrames} of ${frames} frames the card could not be read`,
		});
	if (damaged > 0)
		events.push({ code: 'damagedFrames', detail: `${damaged} of ${frames} frames are damaged in the file` });
	for (const { code, seen } of notes)
		events.push({ code: code === 'cutOff' ? 'notClosed' : code, detail: seen });
	return events;
}
