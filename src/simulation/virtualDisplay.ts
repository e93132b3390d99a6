/**
 * A viewer in virtual time: decodes pictures in the order in which they become whole, and draws the newest at the next
 * refresh. Two pictures decoded between refreshes: the earlier is never drawn. A picture older than one already decoded
 * is overtaken. While the viewer is frozen no refresh draws.
 */
import type { Frame } from '../observations/frameTable.ts';
import type { Random } from '../statistics/random.ts';
import { drawDelay } from './drawDelay.ts';
import { createSpells } from './spells.ts';
import type { VirtualLinkSpec } from './virtualLinkSpec.ts';

export type ArrivedPicture = {
	readonly frameNumber: number;
	readonly dueMs: number;
	readonly shownMs: number;
	/** When its last packet came. */
	readonly completeMs: number;
};
export type VirtualFrame = Omit<Frame, 'segment'>;

export type VirtualDisplay = {
	/** Pictures in the order of `completeMs`; gives those whose fate is settled by this arrival. */
	arrive(picture: ArrivedPicture): VirtualFrame[];
	/** The picture still waiting for its refresh. */
	finish(): VirtualFrame[];
};

type Drawn = { readonly frame: VirtualFrame; readonly seenMs: number };

export function createVirtualDisplay(
	spec: VirtualLinkSpec,
	forDecode: Random,
	forFreezes: Random,
): VirtualDisplay {
	const refresh = createRefresh(spec, forFreezes);
	let newest = -1;
	let decodedMs = Number.NEGATIVE_INFINITY;
	let waiting: Drawn | null = null;

	return {
		arrive(picture) {
			const { completeMs, ...shown } = picture;
			if (shown.frameNumber < newest) return [{ ...shown, fate: 'overtaken', decodedMs: null, seenMs: null }];
			newest = shown.frameNumber;
			decodedMs = Math.max(decodedMs, completeMs) + drawDelay(spec.decode, forDecode);
			const seenMs = refresh(decodedMs);
			if (seenMs - shown.shownMs > spec.lostAfterMs)
				return [{ ...shown, fate: 'late', decodedMs, seenMs: null }];
			const before = waiting;
			waiting = { frame: { ...shown, fate: 'presented', decodedMs, seenMs }, seenMs };
			if (before === null) return [];
			return before.seenMs === seenMs && spec.display !== null
				? [{ ...before.frame, fate: 'notDrawn', seenMs: null }]
				: [before.frame];
		},
		finish() {
			const last = waiting;
			waiting = null;
			return last === null ? [] : [last.frame];
		},
	};
}

/** When a picture decoded at an instant is drawn. Asked at instants that never go back. */
function createRefresh({ display, freezes }: VirtualLinkSpec, random: Random): (decodedMs: number) => number {
	const lengths = freezes?.random ?? null;
	const spells =
		lengths &&
		createSpells({ goodMeanMs: lengths.meanEveryMs, badMeanMs: lengths.lengthMs, bad: 'fixed' }, random);

	function nextRefresh(atMs: number): number {
		if (display === null) return atMs;
		return display.phaseMs + Math.ceil((atMs - display.phaseMs) / display.periodMs) * display.periodMs;
	}

	return (decodedMs) => {
		const refreshMs = nextRefresh(decodedMs);
		let freeMs = spells?.endOfBadAt(refreshMs) ?? refreshMs;
		for (const { atMs, lengthMs } of freezes?.scheduled ?? [])
			if (freeMs >= atMs && freeMs < atMs + lengthMs) freeMs = atMs + lengthMs;
		return freeMs === refreshMs ? refreshMs : nextRefresh(freeMs);
	};
}
