/** How a clip was filmed, as far as a session goes by it (design.md 6; what is missing of a session: metrics/opticalSession.ts). */
import type { OpticalClip } from './opticalClip.ts';

/** From here on a clip is fast: 120 frames a second and what phones call it. */
const FAST_FROM_HZ = 100;

export function isFast({ measured }: OpticalClip): boolean {
	return measured.filmedHz >= FAST_FROM_HZ;
}

/** True time that was measured, ms. */
export function measuredMs({ measured }: OpticalClip): number {
	return measured.pieces.reduce((sum, { durationMs }) => sum + durationMs, 0);
}

/** Session numbers on the cards seen: more than one, and the clips are of different sessions. */
export function sessionsSeen(clips: readonly OpticalClip[]): number[] {
	return [...new Set(clips.flatMap(({ measured }) => (measured.session === null ? [] : [measured.session])))];
}
