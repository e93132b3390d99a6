/** Keeps watch over a clip while it is read: times that rise, packets that were declared, an end that comes as declared. */
import { type ClipInfo, type ClipNote, clipMs } from '../../imaging/clipFrame.ts';

/** A file whose pictures end so much before its declared end was cut off; sound may go on for less. */
const CUT_OFF_MS = 1000;

export type NoteKeeper = {
	/** A packet of the pictures was read. */
	packet(): void;
	/** The demuxer or the decoder stumbled. */
	broken(): void;
	/** True when a picture of that time is to be handed over: its time is known and later than the last one's. */
	take(ticks: number | null): boolean;
	/** The file's end was reached. */
	end(): void;
	list(): readonly ClipNote[];
};

export function createNoteKeeper({ declaredCount, declaredMs, timeBase }: ClipInfo): NoteKeeper {
	let [packets, stumbles, withoutTime, notRising] = [0, 0, 0, 0];
	let first: number | null = null;
	let last: number | null = null;
	let ended = false;
	const cutOff = (): string | null => {
		if (!ended) return null;
		if (declaredCount !== null && packets > 0 && packets < declaredCount)
			return `the file declares ${declaredCount} pictures and holds ${packets}: it was cut off`;
		const reachedMs = first === null || last === null ? 0 : clipMs(last - first, timeBase);
		if (declaredMs !== null && reachedMs < declaredMs - CUT_OFF_MS)
			return `the file declares ${(declaredMs / 1000).toFixed(1)} s and its pictures end after ${(reachedMs / 1000).toFixed(1)} s: it was cut off`;
		return stumbles > 0 ? `reading stumbled ${stumbles} times over damaged data` : null;
	};
	return {
		packet: () => void packets++,
		broken: () => void stumbles++,
		take(ticks) {
			if (ticks === null) withoutTime++;
			else if (last !== null && ticks <= last) notRising++;
			else {
				first ??= ticks;
				last = ticks;
				return true;
			}
			return false;
		},
		end() {
			ended = true;
		},
		list() {
			const notes: ClipNote[] = [];
			const cut = cutOff();
			if (cut !== null) notes.push({ code: 'cutOff', seen: cut });
			if (withoutTime > 0)
				notes.push({
					code: 'framesWithoutTime',
					seen: `${withoutTime} pictures carry no time and were left out`,
				});
			if (notRising > 0)
				notes.push({
					code: 'timesNotRising',
					seen: `${notRising} pictures carry a time no later than the one before and were left out`,
				});
			return notes;
		},
	};
}
