/**
 * A run as it would have been, had every picture come so much later: its content is that much older wherever it was seen, and nothing else changes.
 * Gaps, freezes and the rate stay what they were.
 */
import { FrameTable } from './frameTable.ts';
import type { Run } from './run.ts';

/** `addedMs` is at least 0, else `RangeError`: pictures that come sooner could be seen before they were shown. */
export function laterBy(run: Run, addedMs: number): Run {
	if (!(addedMs >= 0 && addedMs < Number.POSITIVE_INFINITY))
		throw new RangeError(`pictures come later by 0 ms or more, got ${addedMs}`);
	const frames = new FrameTable();
	for (const frame of run.frames)
		frames.add({ ...frame, dueMs: frame.dueMs - addedMs, shownMs: frame.shownMs - addedMs });
	const ageSamples = run.ageSamples.map((block) => ({
		...block,
		rows: block.rows.map(([atMs, ageMs, halfWidthMs, weightMs]): (typeof block.rows)[number] => [
			atMs,
			ageMs + addedMs,
			halfWidthMs,
			weightMs,
		]),
	}));
	return { ...run, frames, ageSamples };
}
