/**
 * Looks closely at a sampled frame, away from the page's own thread: patch colours by our conversion, the same as the
 * browser would display them, and likeness to the card drawn again from its number. Keeps the planes of the least like
 * frame, so that the bench can show where it differed.
 */
import { BLOCK_SSIM, blockSsim } from '../../imaging/blockSsim.ts';
import { meanSquaredError } from '../../imaging/meanSquaredError.ts';
import { lumaOf, type Planes } from '../../imaging/planes.ts';
import { copyPlanes, isRgb, type Picture, sizeOfPicture } from '../../media/web/framePlanes.ts';
import type { CardSpec } from '../../pattern/card.ts';
import type { CardPainter } from '../../pattern/cardPainter.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { createCardPainter } from '../../pattern/painter.ts';
import type { FromViewer } from '../../protocol/control.ts';
import { createLinkDetailReader, type LinkDetailReader } from '../../reading/linkDetail.ts';
import { readPatchColours } from '../../reading/patchColours.ts';

export type SampleRequest =
	| { readonly type: 'card'; readonly spec: CardSpec }
	| {
			readonly type: 'sample';
			readonly frame: Picture;
			readonly frameNumber: number;
			readonly atMs: number;
	  }
	| { readonly type: 'kept' };
export type Sample = Extract<FromViewer, { type: 'patches' | 'picture' | 'detail' }>;
export type SampleAnswer =
	| { readonly type: 'message'; readonly message: Sample }
	| { readonly type: 'kept'; readonly frameNumber: number | null; readonly planes: Uint8Array };

let card: {
	readonly spec: CardSpec;
	readonly painter: CardPainter;
	readonly readDetail: LinkDetailReader;
} | null = null;
let kept: { frameNumber: number; meanSquaredError: number; planes: Planes } | null = null;

const answer = (message: SampleAnswer): void => self.postMessage(message);

self.onmessage = async ({ data }: MessageEvent<SampleRequest>): Promise<void> => {
	if (data.type === 'card') card = openCard(data.spec);
	else if (data.type === 'sample') {
		await lookAt(data.frame, data.frameNumber, data.atMs);
		data.frame.close();
	} else
		answer({ type: 'kept', frameNumber: kept?.frameNumber ?? null, planes: tight(kept?.planes ?? null) });
};

function openCard(spec: CardSpec): NonNullable<typeof card> {
	return { spec, painter: createCardPainter(spec), readDetail: createLinkDetailReader(spec) };
}

async function lookAt(frame: Picture, frameNumber: number, atMs: number): Promise<void> {
	if (card === null) return;
	const displayed = displayedColours(frame, card.spec);
	const isOurOwnConversion = !isRgb(frame);
	const planes = await copyPlanes(frame);
	if (displayed !== null)
		answer({
			type: 'message',
			message: { type: 'patches', frameNumber, atMs, path: 'displayed', rgb: displayed },
		});
	if (planes === null) return;
	if (isOurOwnConversion) tellDecodedColours(planes, { spec: card.spec, frameNumber, atMs });
	const drawn = card.painter.paintPlanes(frameNumber);
	const reference = lumaOf(drawn);
	const mse = meanSquaredError(reference, lumaOf(planes));
	const likeness = {
		meanSquaredError: mse,
		ssim: blockSsim(reference, lumaOf(planes)),
		ssimVariant: BLOCK_SSIM,
	};
	answer({ type: 'message', message: { type: 'picture', frameNumber, atMs, ...likeness } });
	const detail = card.readDetail(planes, drawn, frameNumber);
	answer({ type: 'message', message: { type: 'detail', frameNumber, atMs, ...detail } });
	if (kept === null || mse > kept.meanSquaredError) kept = { frameNumber, meanSquaredError: mse, planes };
}

type Look = { readonly spec: CardSpec; readonly frameNumber: number; readonly atMs: number };

function tellDecodedColours(planes: Planes, { spec, frameNumber, atMs }: Look): void {
	const rgb = readPatchColours(planes, spec).map(([r, g, b]): [number, number, number] => [r, g, b]);
	answer({ type: 'message', message: { type: 'patches', frameNumber, atMs, path: 'decoded', rgb } });
}

/** Mean of each patch's inner part after the browser's own conversion; null where it gives no canvas. */
function displayedColours(frame: Picture, spec: CardSpec): [number, number, number][] | null {
	const { widthPx, heightPx } = sizeOfPicture(frame);
	const canvas = new OffscreenCanvas(widthPx, heightPx);
	const context = canvas.getContext('2d', { alpha: false, willReadFrequently: true });
	if (context === null) return null;
	context.drawImage(frame, 0, 0);
	return cardGeometry(spec).patches.map(({ inner }) => {
		const { data } = context.getImageData(inner.xPx, inner.yPx, inner.widthPx, inner.heightPx);
		const sum = [0, 0, 0];
		for (let i = 0; i < data.length; i += 4)
			for (let channel = 0; channel < 3; channel++) sum[channel]! += data[i + channel]!;
		const count = data.length / 4;
		return [sum[0]! / count, sum[1]! / count, sum[2]! / count];
	});
}

/** Y, U, V one after the other without padding: what the bench expects of a kept frame. */
function tight(planes: Planes | null): Uint8Array {
	if (planes === null) return new Uint8Array();
	const { widthPx, heightPx, yStride, uvStride } = planes;
	const halfWidth = (widthPx + 1) >> 1;
	const halfHeight = (heightPx + 1) >> 1;
	const bytes = new Uint8Array(widthPx * heightPx + 2 * halfWidth * halfHeight);
	let at = 0;
	const append = (plane: Uint8Array, stride: number, width: number, rows: number): void => {
		for (let row = 0; row < rows; row++, at += width)
			bytes.set(plane.subarray(row * stride, row * stride + width), at);
	};
	append(planes.y, yStride, widthPx, heightPx);
	append(planes.u, uvStride, halfWidth, halfHeight);
	append(planes.v, uvStride, halfWidth, halfHeight);
	return bytes;
}
