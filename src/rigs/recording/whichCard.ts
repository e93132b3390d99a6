/** Which card a recording shows, where nobody said: the link card unscaled if its strip can be read early on, else the optical one. */
import { OutsideFailure } from '../../failure.ts';
import type { ClipSource } from '../../imaging/clipFrame.ts';
import { CARD_SIZES, type CardSize, type Layout } from '../../pattern/card.ts';
import { cardGeometry, cardSizePx } from '../../pattern/geometry.ts';
import { readFrameCode } from '../../reading/frameCode.ts';

const LOOK_FRAMES = 60;
/** A strip of another edition that holds its check by chance is not read twice. */
const SURE_FRAMES = 2;

/**
 * Reads the first frames and closes nothing. `size` is that of the link card, where its pictures have one. Throws `OutsideFailure`
 * `cardNotFound` for a link card of another edition than this version draws.
 */
export async function whichCard(source: ClipSource): Promise<{ layout: Layout; size: CardSize }> {
	const { widthPx, heightPx } = source.info;
	const size = CARD_SIZES.find((each) => {
		const sides = cardSizePx(each);
		return sides.widthPx === widthPx && sides.heightPx === heightPx;
	});
	if (size === undefined) return { layout: 'scope', size: '1280x720' };
	const geometry = cardGeometry({ layout: 'link', size, seed: 0, difficulty: 'easy' });
	let count = 0;
	let others = 0;
	for await (const { luma } of source.frames()) {
		const reading = readFrameCode(luma, geometry);
		if (reading.kind === 'read') return { layout: 'link', size };
		if (reading.reason === 'otherCard') others++;
		if (++count >= LOOK_FRAMES) break;
	}
	if (others >= SURE_FRAMES)
		throw new OutsideFailure(
			'cardNotFound',
			'The recording shows the link card of another version of this program, whose edges and lines lie elsewhere.',
			'Show the card of this version and record it again.',
		);
	return { layout: 'scope', size };
}
