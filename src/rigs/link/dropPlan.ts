/** Which encoded pictures a sender throws away: asked once for each frame, in order, so that a seed always drops the same. */
import { createRandom } from '../../statistics/random.ts';
import type { DropPictures } from './senderMessages.ts';

export function createDropPlan(drop: DropPictures): (frameNumber: number) => boolean {
	if (drop.kind === 'none') return () => false;
	if (drop.kind === 'frames') {
		const dropped = new Set(drop.frameNumbers);
		return (frameNumber) => dropped.has(frameNumber);
	}
	const random = createRandom(drop.seed);
	return () => random.next() < drop.ratio;
}
