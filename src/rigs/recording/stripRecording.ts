/**
 * A recording of the link card, unscaled: the frame number in every frame, and now and then the card's colours, its likeness to the
 * same frame drawn again, and its detail. The card as drawn is a proper reference: no lens lies between.
 */
import { BT709_LIMITED } from '../../colour/yCbCr.ts';
import { BLOCK_SSIM, blockSsim } from '../../imaging/blockSsim.ts';
import { type ClipFrame, type ClipInfo, clipMs } from '../../imaging/clipFrame.ts';
import { meanSquaredError } from '../../imaging/meanSquaredError.ts';
import { lumaOf } from '../../imaging/planes.ts';
import type { ObservationRecord } from '../../observations/records.ts';
import type { CardSpec } from '../../pattern/card.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { createCardPainter } from '../../pattern/painter.ts';
import { readFrameCode } from '../../reading/frameCode.ts';
import { createLinkDetailReader } from '../../reading/linkDetail.ts';
import { readPatchColours } from '../../reading/patchColours.ts';
import { picturesOfCodes, type RecordedPictures } from './recordedPictures.ts';

type OfKind<K extends ObservationRecord['kind']> = Extract<ObservationRecord, { kind: K }>;
/** Looks at one frame, without the segment they will belong to. `atMs` is the file's time. */
export type CardLook =
	| Omit<OfKind<'patches'>, 'segment'>
	| Omit<OfKind<'picture'>, 'segment'>
	| Omit<OfKind<'detail'>, 'segment'>;

/** Looks are spread so far apart, and further in a long file. */
const LOOK_EVERY_MS = 500;
const MOST_LOOKS = 120;
/** A pulse of a second needs several looks a turn, at no whole part of it. */
const LOOK_AT_MOTION_EVERY_MS = 130;

export type StripReader = {
	look(frame: ClipFrame): void;
	finish(): { readonly recorded: RecordedPictures; readonly looks: readonly CardLook[] };
};

/** Whether the file's pictures have the card's size, as they must to be read unscaled. */
export function hasCardSize({ widthPx, heightPx }: ClipInfo, card: CardSpec): boolean {
	const geometry = cardGeometry(card);
	return widthPx === geometry.widthPx && heightPx === geometry.heightPx;
}

export function createStripReader(info: ClipInfo, card: CardSpec): StripReader {
	const geometry = cardGeometry(card);
	const lookAt = createLooker(info, card);
	const everyMs =
		card.difficulty === 'motion'
			? LOOK_AT_MOTION_EVERY_MS
			: Math.max(LOOK_EVERY_MS, (info.declaredMs ?? 0) / MOST_LOOKS);
	const fileMs: number[] = [];
	const codes: (number | null)[] = [];
	const looks: CardLook[] = [];
	let nextMs = Number.NEGATIVE_INFINITY;
	return {
		look(frame) {
			const atMs = clipMs(frame.ticks, info.timeBase);
			const reading = readFrameCode(frame.luma, geometry);
			const code = reading.kind === 'read' ? reading.frameNumber : null;
			fileMs.push(atMs);
			codes.push(code);
			if (code === null || atMs < nextMs || frame.damaged) return;
			nextMs = atMs + everyMs;
			looks.push(...lookAt(frame, code, atMs));
		},
		finish: () => ({ recorded: picturesOfCodes(fileMs, codes), looks }),
	};
}

/** Of files with another matrix or range only the colours are read: detail and likeness go by luma codes as the card has them. */
function createLooker(
	{ encoding, transfer }: ClipInfo,
	card: CardSpec,
): (frame: ClipFrame, frameNumber: number, atMs: number) => CardLook[] {
	const painter = createCardPainter(card);
	const readDetail = createLinkDetailReader(card);
	const asDrawn = encoding.matrix === BT709_LIMITED.matrix && encoding.range === BT709_LIMITED.range;
	return (frame, frameNumber, atMs) => {
		const planes = frame.planes();
		if (planes === null || transfer !== 'usual') return [];
		const rgb = readPatchColours(planes, card, encoding).map(([r, g, b]): [number, number, number] => [
			r,
			g,
			b,
		]);
		const patches: CardLook = { kind: 'patches', frameNumber, atMs, path: 'decoded', rgb };
		if (!asDrawn) return [patches];
		const drawn = painter.paintPlanes(frameNumber);
		const reference = lumaOf(drawn);
		return [
			patches,
			{
				kind: 'picture',
				frameNumber,
				atMs,
				meanSquaredError: meanSquaredError(reference, lumaOf(planes)),
				ssim: blockSsim(reference, lumaOf(planes)),
				ssimVariant: BLOCK_SSIM,
				mismatchRatio: null,
				evidence: null,
			},
			{ kind: 'detail', frameNumber, atMs, ...readDetail(planes, drawn, frameNumber) },
		];
	};
}
