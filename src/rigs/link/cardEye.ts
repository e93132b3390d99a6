/**
 * What a viewer makes of decoded card pictures: the frame number of each, and now and then, at jittered instants, patch
 * colours, fine detail and the likeness to the same frame painted again. The least like picture sampled is kept for the evidence.
 *
 * Likeness is of luma: mean squared error, and block SSIM, which stays near the Gaussian one and is cheap.
 */
import { BLOCK_SSIM, blockSsim } from '../../imaging/blockSsim.ts';
import { meanSquaredError } from '../../imaging/meanSquaredError.ts';
import { lumaOf, type Planes } from '../../imaging/planes.ts';
import { packedByteCount, packPlanes } from '../../media/node/packedPlanes.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { createCardPainter } from '../../pattern/painter.ts';
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import { readFrameCode } from '../../reading/frameCode.ts';
import { createLinkDetailReader } from '../../reading/linkDetail.ts';
import { readPatchColours } from '../../reading/patchColours.ts';
import { createRandom } from '../../statistics/random.ts';
import { cardSchema } from './senderMessages.ts';

type KeptPicture = {
	readonly frameNumber: number;
	readonly meanSquaredError: number;
	/** I420 without padding. */
	readonly bytes: Uint8Array;
};

export type CardEye = {
	/** Null when the code cannot be read. */
	readNumber(planes: Planes): number | null;
	/** Samples of this picture when it is time for them, else none. */
	sample(planes: Planes, frameNumber: number, atMs: number): FromViewer[];
	/** Null before the first sample. */
	leastLike(): KeptPicture | null;
};

/** Throws when the plan names no card that this version can draw. */
export function openCardEye(plan: Extract<ToViewer, { type: 'plan' }>, seed: number): CardEye {
	const { layout, widthPx, heightPx, difficulty, sampleEveryMs } = plan;
	const card = cardSchema.parse({ layout, size: `${widthPx}x${heightPx}`, seed: plan.seed, difficulty });
	const geometry = cardGeometry(card);
	const painter = createCardPainter(card);
	const readDetail = createLinkDetailReader(card);
	const random = createRandom(seed);
	// The first sample waits too: what is seen before the run begins is of no use to it.
	let nextMs: number | null = null;
	let kept: KeptPicture | null = null;
	return {
		readNumber(planes) {
			if (planes.widthPx !== widthPx || planes.heightPx !== heightPx) return null;
			const reading = readFrameCode(lumaOf(planes), geometry);
			return reading.kind === 'read' ? reading.frameNumber : null;
		},
		sample(planes, frameNumber, atMs) {
			const isTime = nextMs !== null && atMs >= nextMs;
			if (nextMs === null || isTime) nextMs = atMs + sampleEveryMs * (0.5 + random.next());
			if (!isTime) return [];
			const rgb = readPatchColours(planes, card).map(([r, g, b]): [number, number, number] => [r, g, b]);
			const drawn = painter.paintPlanes(frameNumber);
			const reference = lumaOf(drawn);
			const mse = meanSquaredError(reference, lumaOf(planes));
			if (kept === null || mse > kept.meanSquaredError) {
				const bytes = kept?.bytes ?? new Uint8Array(packedByteCount(widthPx, heightPx));
				packPlanes(planes, bytes);
				kept = { frameNumber, meanSquaredError: mse, bytes };
			}
			const ssim = blockSsim(reference, lumaOf(planes));
			return [
				{ type: 'patches', frameNumber, atMs, path: 'decoded', rgb },
				{ type: 'picture', frameNumber, atMs, meanSquaredError: mse, ssim, ssimVariant: BLOCK_SSIM },
				{ type: 'detail', frameNumber, atMs, ...readDetail(planes, drawn, frameNumber) },
			];
		},
		leastLike: () => kept,
	};
}
