/** Where the card in a film jumps although the file runs on: a part was cut out there, or put in twice. Told, since nothing is measured across it. */
import type { LinePiece } from './laptopLine.ts';

/** Less is a phone that paused for a moment, or a line's own error at its end. */
const LEAST_JUMP_MS = 250;

export type FilmCut = {
	/** In the file, from its first frame. */
	readonly atMs: number;
	/** Of the card, beside the file's time: over 0 where a part is missing. A turn of the card's count is not seen. */
	readonly jumpMs: number;
};

export function findCuts(fileMs: Float64Array, pieces: readonly LinePiece[]): FilmCut[] {
	const cuts: FilmCut[] = [];
	for (const [i, after] of pieces.entries()) {
		const before = pieces[i - 1];
		// Another stretch: the speed changed there.
		if (before === undefined || before.stretch !== after.stretch) continue;
		const endMs = fileMs[before.until - 1]!;
		const ranTicks = after.offset - before.offset - before.slopePerMs * (endMs - before.originMs);
		const jumpMs = ranTicks * before.tickMs - (after.originMs - endMs) / before.stretch;
		if (Math.abs(jumpMs) >= LEAST_JUMP_MS) cuts.push({ atMs: endMs - fileMs[0]!, jumpMs });
	}
	return cuts;
}
