/** What a file says of its pictures, from FFmpeg's numbers: turning, matrix, range, transfer. */
import type { ClipInfo, ClipTransfer } from '../../imaging/clipFrame.ts';

/** Numbers of the lists in ITU-T H.273, as FFmpeg uses them. */
const SPACE_UNKNOWN = 2;
const SPACES_601: ReadonlySet<number> = new Set([4, 5, 6]);
const TRANSFER_PQ = 16;
const TRANSFER_HLG = 18;
const RANGE_FULL = 2;
/** Below this height a file that does not say is taken as BT.601: common practice of players. */
const HD_FROM_PX = 720;

export type ColourNumbers = {
	readonly space: number;
	readonly range: number;
	readonly fullByFormat: boolean;
	readonly heightPx: number;
};

/** BT.2020's weights are taken as BT.709's: luma is all that is read of such files. */
export function encodingOf({ space, range, fullByFormat, heightPx }: ColourNumbers): ClipInfo['encoding'] {
	const full = fullByFormat || range === RANGE_FULL;
	// The J formats are JFIF's, whose matrix is that of BT.601.
	const is601 = SPACES_601.has(space) || (space === SPACE_UNKNOWN && (fullByFormat || heightPx < HD_FROM_PX));
	return { matrix: is601 ? '601' : '709', range: full ? 'full' : 'limited' };
}

export function transferOf(number: number): ClipTransfer {
	if (number === TRANSFER_HLG) return 'hlg';
	return number === TRANSFER_PQ ? 'pq' : 'usual';
}

export type Turning = Pick<ClipInfo, 'turnedDeg' | 'mirrored'>;

/**
 * From the display matrix of nine 32-bit numbers (MP4's `tkhd`; published, ISO 14496-12): a, b, c, d of it say how a point is turned.
 * `turnedDeg` in quarters, clockwise.
 */
export function turningOf(matrix: ArrayLike<number> | null): Turning {
	if (matrix === null || matrix.length < 5) return { turnedDeg: 0, mirrored: false };
	const [a, b, c, d] = [matrix[0]!, matrix[1]!, matrix[3]!, matrix[4]!];
	const mirrored = a * d - b * c < 0;
	const degrees = (Math.atan2(mirrored ? -b : b, mirrored ? -a : a) * 180) / Math.PI;
	return { turnedDeg: (Math.round(degrees / 90) * 90 + 360) % 360, mirrored };
}

export function matrixNumbers(bytes: Uint8Array | null): Int32Array | null {
	if (bytes === null || bytes.length < 36) return null;
	const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
	return Int32Array.from({ length: 9 }, (_, i) => view.getInt32(4 * i, true));
}
