/**
 * What passes between the steps of reading a filmed clip:
 *
 *   luma planes -> markers found -> one soft vector a marker and frame (`ClipReading`)
 *               -> time line, picture on the tablet, ages (`ClipMeasurement`) -> records
 *
 * A soft vector has one number for each pair of a marker: light of the first cell less light of the second, over white less
 * black; about +1 or -1 where one tick was exposed, anything between where several were. It is linear in light.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import type { MarkerLabel } from '../pattern/markerCode.ts';

export type Point = { readonly xPx: number; readonly yPx: number };

/**
 * The outer edge of a marker's black frame in a picture: four corners in the picture's clockwise order, and how far the middle
 * of each side (corner i to i + 1) is pushed out of the straight line, which tells the lens's barrel.
 */
export type MarkerQuad = {
	readonly corners: readonly [Point, Point, Point, Point];
	readonly bulges: readonly [Point, Point, Point, Point];
};

/** How a marker lies in the picture: its own upper left corner is corner `firstCorner`; mirrored: its order is anticlockwise. */
export type MarkerPose = {
	readonly quad: MarkerQuad;
	readonly firstCorner: 0 | 1 | 2 | 3;
	readonly mirrored: boolean;
};

export type FoundMarker = {
	readonly pose: MarkerPose;
	/** What its still cells say; null where they could not be read (a reader then goes by ticks alone). */
	readonly label: MarkerLabel | null;
	/** Mean length of the frame's sides, px; the whole marker is 1.2 times as wide. */
	readonly sidePx: number;
	/** Height of its middle in the picture, 0 top to 1 bottom: decides its place in a rolling shutter. */
	readonly heightRatio: number;
	/** Clockwise turn of the marker's upward direction in the picture, -180 to 180 degrees. */
	readonly turnedDeg: number;
};

/** One marker through a clip. */
export type MarkerTrack = {
	readonly marker: FoundMarker;
	/** Frame after frame, PAIRS numbers each; zeros where not read. */
	readonly vectors: Float32Array;
	/** 1 where the frame's vector was read. */
	readonly read: Uint8Array;
};

/** A clip as read: what estimation works on. Also what the signal-level simulation makes, without pixels. */
export type ClipReading = {
	/** The file's own time of each frame, in ms, ascending. */
	readonly fileMs: Float64Array;
	readonly tracks: readonly MarkerTrack[];
	readonly filmed: 'tripod' | 'handHeld';
};

/** A reason why something could not be read or measured, as a value. */
export type NotRead = {
	readonly kind: 'notMeasured';
	readonly reason: string;
	/** What was seen and what to do. */
	readonly explanation: string;
};

/** Markers of the clip's first second or so; `createMarkerLocator` (markerLocator.ts) makes one. */
export type MarkerLocator = {
	/** One of the first frames, in order; about 60 are enough, more than a second adds nothing. The plane is not kept. */
	add(luma: LumaPlane): void;
	/** What stands in the mean of them, and whether it stood still. `least`: 1 where the card alone is looked at; usually 2, laptop and tablet. */
	locate(least?: 1 | 2): Located | NotRead;
};

export type Located = {
	readonly kind: 'located';
	readonly filmed: ClipReading['filmed'];
	readonly markers: readonly FoundMarker[];
};

/** Reads one frame after the other from the clip's beginning; `createClipReader` (clipReader.ts) makes one. */
export type ClipReader = {
	look(luma: LumaPlane, fileMs: number): void;
	finish(): ClipReading;
};

export type AgeSample = {
	/** Middle of the frame's exposure. */
	readonly atMs: number;
	readonly ageMs: number;
	readonly halfWidthMs: number;
	/** The stretch of time that it stands for. */
	readonly weightMs: number;
};

export type ShownPicture = {
	/** Slot of the scope's cadence; counts on from 0 where the cadence is unstable. */
	readonly slot: number;
	readonly contentMs: number;
	/** Centroid of its light's change on the tablet. */
	readonly shownMs: number;
};

/** Frames of a piece in true time from its first frame. */
export type Timeline = {
	readonly atMs: Float64Array;
	/** The stretch of time that each frame stands for. */
	readonly weightMs: Float64Array;
	readonly durationMs: number;
};
