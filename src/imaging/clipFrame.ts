/**
 * A video file as pictures with the file's own times: what every back end that reads clips hands over.
 *
 * Times are whole ticks of the file's time base, as written, never rounded to milliseconds and never made from a frame rate.
 * Pictures are as coded: not turned, not mirrored, not converted to another range. What the file says of turning stands in `ClipInfo`.
 */
import type { YCbCrEncoding } from '../colour/yCbCr.ts';
import type { LumaPlane, Planes } from './planes.ts';

/** `usual`: BT.709, sRGB and their like; `hlg` and `pq`: BT.2100. */
export type ClipTransfer = 'usual' | 'hlg' | 'pq';

export type ClipInfo = {
	/** As FFmpeg names it: `h264`, `hevc`, `vp9`, `av1`, `mjpeg`. */
	readonly codec: string;
	readonly widthPx: number;
	readonly heightPx: number;
	readonly bitDepth: number;
	/** Matrix and range as the file declares them; where it does not, what is common practice for its size and codec. */
	readonly encoding: YCbCrEncoding;
	readonly transfer: ClipTransfer;
	/** Seconds a tick: `num / den`. */
	readonly timeBase: { readonly num: number; readonly den: number };
	/** How far a player turns the picture clockwise, degrees, and whether it mirrors it left to right before that. */
	readonly turnedDeg: number;
	readonly mirrored: boolean;
	/** What the file declares; null where it declares nothing. */
	readonly declaredCount: number | null;
	readonly declaredMs: number | null;
	/** Kind of file, as FFmpeg names it: `mov,mp4,m4a,3gp,3g2,mj2`. */
	readonly container: string;
};

/** Valid until the next picture is asked for: copy what is to be kept. */
export type ClipFrame = {
	readonly ticks: number;
	/** Luma in 8-bit codes. Of deeper files the upper 8 bits, rounded: half a code is far below what a cell's mean can tell. */
	readonly luma: LumaPlane;
	/** The whole picture in 8-bit 4:2:0; null where the file has no chroma. Made when asked for. */
	planes(): Planes | null;
	/** The decoder says that a part of it was missing or broken. */
	readonly damaged: boolean;
};

/** Something about the file as a whole that a reader must know, found on the way through it. */
export type ClipNote = {
	readonly code: 'cutOff' | 'framesWithoutTime' | 'timesNotRising';
	readonly seen: string;
};

export type ClipSource = {
	readonly info: ClipInfo;
	/** In the order in which they are shown; times always rise. To be walked through once. */
	frames(): AsyncIterable<ClipFrame>;
	/** Complete when the last picture has been handed over. */
	notes(): readonly ClipNote[];
	/** Which back end reads it, in words. */
	readonly readBy: string;
	close(): void;
};

export function clipMs(ticks: number, { num, den }: ClipInfo['timeBase']): number {
	return (ticks * num * 1000) / den;
}
