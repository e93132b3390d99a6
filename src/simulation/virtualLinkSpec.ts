/**
 * What is stated of an invented link before it is run in virtual time: all of it is truth, none of it is measured.
 */
import type { Rgb } from '../colour/rgb.ts';
import type { Header, PatchReference, ProfileName } from '../observations/records.ts';
import type { AirSpec, DelaySpread, LossChain } from './airSpec.ts';
import type { VirtualPingsSpec } from './virtualPings.ts';

/** Seen code = gain * (matrix * drawn code) + offset + noise, kept within 0 to 255; per channel, on sRGB codes. */
export type ColourModel = {
	/** Rows give red, green, blue seen; null: each channel stays its own. */
	readonly matrix: readonly [Rgb, Rgb, Rgb] | null;
	readonly gain: Rgb;
	readonly offset: Rgb;
	/** Standard deviation of the mean code of one patch from sample to sample. */
	readonly noiseSd: number;
};

/** Likeness of a sampled picture to its reference: squared error lognormal about its median, SSIM normal about its mean, at most 1. */
export type LikenessModel = {
	readonly medianSquaredError: number;
	readonly sigma: number;
	readonly meanSsim: number;
	readonly ssimSd: number;
};

export type VirtualLinkSpec = {
	readonly runId: string;
	readonly toolVersion: string;
	/** A label for people, ISO 8601. */
	readonly startedAt: string;
	readonly subject: Header['subject'];
	readonly profile: ProfileName;
	/** Decides every draw: the same spec gives the same run. */
	readonly seed: number;
	readonly warmUpMs: number;
	readonly observedMs: number;
	readonly source: {
		readonly rateHz: number;
		readonly widthPx: number;
		readonly heightPx: number;
		/** The source shows a frame this much after it was due, exponentially distributed, at most half a period. */
		readonly latenessMeanMs: number;
	};
	/** Delay of scope and app before the air, the same for every picture. */
	readonly addedDelayMs: number;
	readonly encode: DelaySpread;
	/** Bytes of a picture: normal, at least one packet. */
	readonly pictureBytes: { readonly mean: number; readonly sd: number };
	/** Whole pictures that never enter the air. */
	readonly pictureLoss: LossChain | null;
	/** A picture with a packet lost is lost whole. */
	readonly air: AirSpec;
	readonly decode: DelaySpread;
	/** Null: the end point is the decoder. */
	readonly display: { readonly periodMs: number; readonly phaseMs: number } | null;
	/** Times in which the viewer draws nothing. */
	readonly freezes: {
		readonly scheduled: readonly { readonly atMs: number; readonly lengthMs: number }[];
		readonly random: { readonly meanEveryMs: number; readonly lengthMs: number } | null;
	} | null;
	readonly colour: ColourModel | null;
	readonly likeness: LikenessModel | null;
	readonly patches: readonly PatchReference[];
	/** Mean spacing of patch and picture samples; each is jittered by up to half of it. */
	readonly sampleEveryMs: number;
	readonly lostAfterMs: number;
	/** A viewer with a clock of its own; null: it reads the reference clock. */
	readonly viewerClock: VirtualPingsSpec | null;
};
