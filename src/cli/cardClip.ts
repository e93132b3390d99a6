/** A clip of the card, one frame of it a picture: so that anyone can build a test of their own. */
import type { ClipCodec } from '../media/node/clipWriter.ts';
import { openClipWriter, WRITTEN_TICKS_HZ } from '../media/node/clipWriter.ts';
import type { CardSpec } from '../pattern/card.ts';
import { FRAME_NUMBERS } from '../pattern/frameCode.ts';
import { cardSizePx } from '../pattern/geometry.ts';
import { createCardPainter } from '../pattern/painter.ts';
import { openProgress } from './progressBar.ts';
import { WrongUsage } from './wrongUsage.ts';

export type CardClip = {
	readonly card: CardSpec;
	/** Frame number of the first picture. */
	readonly tick: number;
	readonly seconds: number;
	readonly rateHz: number;
	readonly codec: ClipCodec;
	readonly out: string;
};

/** Gives what was written, in words. Throws `OutsideFailure` as the writer does, and `WrongUsage` when the numbers run out. */
export async function writeCardClip({ card, tick, seconds, rateHz, codec, out }: CardClip): Promise<string> {
	const count = Math.round(seconds * rateHz);
	if (tick + count > FRAME_NUMBERS)
		throw new WrongUsage(`frame numbers end at ${FRAME_NUMBERS - 1}: start lower or write fewer seconds`);
	const { widthPx, heightPx } = cardSizePx(card.size);
	const writer = await openClipWriter(out, { widthPx, heightPx, rateHz, codec });
	const painter = createCardPainter({ ...card, displayHz: rateHz });
	const progress = openProgress(process.stderr);
	try {
		for (let i = 0; i < count; i++) {
			writer.write(painter.paintPlanes(tick + i), Math.round((i * WRITTEN_TICKS_HZ) / rateHz));
			progress.show(i / count, `writing ${count} frames of the card`);
		}
	} finally {
		writer.close();
		progress.end();
	}
	return `${count} frames of the ${card.layout} card at ${rateHz} a second, from frame ${tick}`;
}
