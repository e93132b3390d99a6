/** Which card a recording shows, where nobody said: the link card unscaled if its strip can be read early on, else the optical one. */
import type { ClipSource } from '../../imaging/clipFrame.ts';
import { CARD_SIZES, type CardSize, type Layout } from '../../pattern/card.ts';
import { cardGeometry, cardSizePx } from '../../pattern/geometry.ts';
import { readFrameCode } from '../../reading/frameCode.ts';

const LOOK_FRAMES = 60;

/** Reads the first frames and closes nothing. `size` is that of the link card, where its pictures have one. */
export async function whichCard(source: ClipSource): Promise<{ layout: Layout; size: CardSize }> {
	const { widthPx, heightPx } = source.info;
	const size = CARD_SIZES.find((each) => {
		const sides = cardSizePx(each);
		return sides.widthPx === widthPx && sides.heightPx === heightPx;
	});
	if (size === undefined) return { layout: 'scope', size: '1280x720' };
	const geometry = cardGeometry({ layout: 'link', size, seed: 0, difficulty: 'easy' });
	let count = 0;
	for await (const { luma } of source.frames()) {
		if (readFrameCode(luma, geometry).kind === 'read') return { layout: 'link', size };
		if (++count >= LOOK_FRAMES) break;
	}
	return { layout: 'scope', size };
}
