/** What changed over a long run, with its time and a story that would fit: a story to look into, never a finding. */
import type { Change, Endurance, EnduranceRow } from '../metrics/endurance.ts';
import type { LinkBreak } from '../metrics/linkBreaks.ts';
import { formatMs, formatShare } from './numbers.ts';
import type { Section } from './wordSection.ts';

const TOGETHER_MS = 60_000;
export const NEVER_STOOD = 'It never stood still for a second or more.';

export function enduranceSections({ breaks, ...overTime }: Endurance): Section[] {
	return [
		{ title: 'Over time', items: overTimeWords(overTime) },
		{
			title: 'Where the link broke',
			items:
				breaks.length === 0
					? [NEVER_STOOD]
					: breaks.map(
							(broke) =>
								`${breakWords(broke)} Walking away: note how far you were, and whether the kit warned.`,
						),
		},
	];
}

/** What moved, then every stretch as it was. */
export function overTimeWords({ minutes, rows, changes }: Omit<Endurance, 'breaks'>): string[] {
	const told = changes.map((change) => `${changeWords(change)} ${storyOf(change, changes)}`);
	const steady = `Nothing moved to another level and stayed there in ${minutes.toFixed(0)} min.`;
	return [...(told.length === 0 ? [steady] : told), ...rows.map(rowWords)];
}

function rowWords({ atMs, delayMs, ageMs, lostRatio, colour }: EnduranceRow): string {
	const seen = [
		delayMs === null ? 'no new picture' : `delay ${formatMs(delayMs)}`,
		...(ageMs === null ? [] : [`${formatMs(ageMs)} old on average`]),
		...(lostRatio === null ? [] : [`${formatShare(lostRatio)} lost`]),
		...(colour === null ? [] : [`colour off by ${colour.toFixed(1)}`]),
	];
	return `From ${clock(atMs)}: ${seen.join(', ')}.`;
}

function changeWords({ quantity, atMs, before, after }: Change): string {
	const value = (x: number): string =>
		quantity === 'lostRatio' ? formatShare(x) : quantity === 'colour' ? x.toFixed(1) : formatMs(x);
	const name = {
		delayMs: 'delay, median',
		ageMs: 'how old the picture is, on average',
		lostRatio: 'pictures lost',
		colour: 'colour shift, median patch (1 = just seen side by side)',
	}[quantity];
	return `${clock(atMs)}: ${name}, from ${value(before)} to ${value(after)}.`;
}

function storyOf({ quantity, atMs, before, after }: Change, all: readonly Change[]): string {
	const beside = (other: Change['quantity']): boolean =>
		all.some(
			(change) =>
				change.quantity === other &&
				Math.abs(change.atMs - atMs) <= TOGETHER_MS &&
				change.after > change.before,
		);
	if (after < before) return 'It got better: something went away, or a device woke up.';
	if (quantity === 'colour')
		return 'A story that would fit: automatic brightness, a night mode or a battery saver of the tablet. Look at its settings.';
	if (quantity === 'lostRatio' || beside('lostRatio'))
		return 'A story that would fit: the channel. Another network or radio came on, or somebody stood in the way. Look what changed at that time.';
	return 'A story that would fit: heat or the battery. A device that gets hot or low slows down, and so does one with other work: feel it, shade it, put it on charge, close other programs on tablet and laptop, and run again.';
}

export function breakWords({ atMs, lengthMs, steadyAfterMs }: LinkBreak): string {
	const back =
		steadyAfterMs === null
			? 'it did not become steady again in this run'
			: `steady again ${formatMs(steadyAfterMs)} after the first new picture`;
	return `${clock(atMs)}: no new picture for ${(lengthMs / 1000).toFixed(1)} s; ${back}.`;
}

function clock(ms: number): string {
	const seconds = Math.floor(ms / 1000);
	return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')} min`;
}
