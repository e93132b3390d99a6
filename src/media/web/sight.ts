/** What a page sees of a received track, whichever way it reads it. */
import type { Picture } from './framePlanes.ts';

export type Sight = {
	/** The receiver's to close. */
	readonly picture: Picture;
	/** Null: this way does not tell. */
	readonly decodedMs: number | null;
	/** Pictures that came since the last one and that the page was never shown; null: the browser does not count them. */
	readonly missedCount: number | null;
	/** It may be the picture of the time before: its code tells. */
	readonly mayRepeat: boolean;
};

export type TrackReader = {
	/** In words, for the record. */
	readonly way: string;
	close(): void;
};
