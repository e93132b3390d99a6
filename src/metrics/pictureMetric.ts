/** The shapes of what metrics say of the picture itself: fine detail, and how true it is. Names are the result document's. */

/** Fine detail by slanted edges: middle over pictures, then over edges. */
export type Sharpness = {
	readonly mtf50CyPx: number;
	/** Null where the response never fell so far. */
	readonly mtf10CyPx: number | null;
	readonly overshootRatio: number;
	/** The same figure of the picture as it should be, and what is left of it; null without a reference. */
	readonly referenceMtf50CyPx: number | null;
	readonly ofReferenceRatio: number | null;
	/** One-sided 95 % bounds over the repeats; null without a reference or with fewer than two pictures. */
	readonly ofReferenceLowerRatio: number | null;
	readonly ofReferenceUpperRatio: number | null;
	readonly edges: readonly {
		readonly place: string;
		readonly axis: 'across' | 'down';
		readonly mtf50CyPx: number;
		readonly mtf10CyPx: number | null;
		readonly overshootRatio: number;
		readonly ofReferenceRatio: number | null;
	}[];
	readonly pictureCount: number;
};

/** How fast a smeared lens clears, flush by flush. */
export type LensClearing = {
	readonly flushes: readonly {
		readonly flushMs: number;
		readonly flushFound: 'marked' | 'found';
		/** Of the clean lens's contrast at the worst. */
		readonly lowRatio: number;
		/** From the flush to nine tenths of the way back; null where it never came. */
		readonly toNineTenthsMs: number | null;
		/** Of the clean lens's contrast what was still missing at the end. */
		readonly remainsRatio: number;
	}[];
	/** Smears of which no clearing could be told. */
	readonly notToldCount: number;
	/** Null where none came back. */
	readonly repeats: {
		readonly count: number;
		readonly middleMs: number;
		readonly rangeMs: number;
		readonly neverCount: number;
	} | null;
};

/** What is left at one distance: detail on the card itself, and noise on its middle grey. */
export type SeenAtDistance = {
	readonly distanceMm: number;
	/** Cycles a millimetre at half contrast. */
	readonly mtf50CyPerMm: number | null;
	readonly signalToNoiseRatio: number | null;
	/** The same two as shares of the nearest distance's. */
	readonly detailRatio: number | null;
	readonly signalRatio: number | null;
};

/** How true the picture is beyond its colour shift and its sharpness: what is left of lines, noise, light, and what would cure the colour. */
export type Fidelity = {
	/** What a better exposure and white balance would cure; null where too many patches are clipped. */
	readonly fit: {
		readonly exposureRatio: number;
		readonly redOverGreen: number;
		readonly blueOverGreen: number;
		/** Against the patches of the header, whether they are a reference to judge by or not. */
		readonly medianBeforeDeltaE00: number;
		readonly p95BeforeDeltaE00: number;
		readonly medianAfterExposureDeltaE00: number;
		readonly medianAfterBothDeltaE00: number;
		readonly p95AfterBothDeltaE00: number;
	} | null;
	/** The reds of the card (tissue colours); null where it has none. */
	readonly reds: {
		readonly hueDeg: number;
		readonly worstHueDeg: number;
		readonly chromaRatio: number;
		readonly patchCount: number;
	} | null;
	readonly burntOut: readonly string[];
	readonly drowned: readonly string[];
	readonly runTogether: readonly string[];
	readonly lines: readonly {
		readonly width: number;
		readonly unit: 'px' | 'mm';
		readonly axis: 'across' | 'down';
		readonly lumaRatio: number;
		readonly chromaRatio: number | null;
		/** Share of the pictures in which they were seen. */
		readonly seenRatio: number;
		readonly seenByColourRatio: number;
	}[];
	/** Least width at which this and every wider line was seen both ways in most pictures; null where none was, or none was drawn. */
	readonly smallestSeen: { readonly width: number; readonly unit: 'px' | 'mm' } | null;
	readonly smallestSeenByColour: { readonly width: number; readonly unit: 'px' | 'mm' } | null;
	readonly noise: readonly {
		readonly patch: string;
		/** Linear light, relative to white. */
		readonly meanRatio: number;
		readonly temporalRatio: number | null;
		readonly fixedPatternRatio: number;
		readonly signalToNoiseRatio: number | null;
		readonly frozen: boolean;
	}[];
	readonly blockinessRatio: number | null;
	readonly chromaBleedRatio: number | null;
	readonly rimLightRatio: number | null;
	/** Nearest first; left out where no distances were stated. */
	readonly distances?: readonly SeenAtDistance[] | undefined;
	/** Across the picture's width, from the two farthest apart of the distances, so that the pupil's place does not matter. */
	readonly fieldOfViewDeg?: number | undefined;
	readonly pictureCount: number;
};
