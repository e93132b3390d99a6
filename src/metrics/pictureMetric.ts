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

/** A small movement to and fro as drawn and as seen, by one sine of its own rate each. */
export type PulseKept = {
	readonly kind: 'measured';
	readonly ratePerMin: number;
	readonly sourceAmplitudePx: number;
	readonly seenAmplitudePx: number;
	/** 1 = all of it. */
	readonly keptRatio: number;
	/** How much later it is seen, within half a period either way. */
	readonly lagMs: number;
	/** Root mean square of what the sine leaves, as seen. */
	readonly restPx: number;
};

/** What is left of the card's parts that move at stated speeds. */
export type Motion = {
	/** Pictures of the card a second, from their numbers; null where they say none. */
	readonly picturesHz: number | null;
	readonly atRestMtf50CyPx: number | null;
	readonly speeds: readonly {
		/** Pixels a picture of the card. */
		readonly speedPx: number;
		readonly mtf50CyPx: number | null;
		/** Of the same edge's detail at rest. */
		readonly detailKeptRatio: number | null;
		/** How far the edge is spread by its movement alone, and the time that is at its speed. */
		readonly smearPx: number | null;
		readonly shutterMs: number | null;
	}[];
	/** Share of what is seen of a fast part that stands where earlier pictures had it. */
	readonly earlierRatio: number | null;
	/** A movement to and fro a few pixels wide, once in 60 pictures. */
	readonly pulse:
		| PulseKept
		| { readonly kind: 'notMeasured'; readonly reason: string; readonly explanation: string };
	readonly pictureCount: number;
};

/** Of a printed card in cycles a millimetre of it, of a card read unscaled in cycles a pixel. */
type CentreAndEdge = { readonly nearRatio: number; readonly farRatio: number; readonly keptRatio: number } & (
	| { readonly nearMtf50CyPerMm: number; readonly farMtf50CyPerMm: number }
	| { readonly nearMtf50CyPx: number; readonly farMtf50CyPx: number }
);

/** The same card by the scope's own light, bright and dim. */
export type SeenByLight = {
	readonly light: 'bright' | 'dim';
	/** Light of the middle grey as the picture shows it, relative to white. */
	readonly greyRatio: number | null;
	readonly mtf50CyPx: number | null;
	readonly signalToNoiseRatio: number | null;
	readonly temporalRatio: number | null;
	readonly pictureCount: number;
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
		/** Rows, and columns, that rise and fall together, and the whole patch from picture to picture; left out where one picture alone was seen. */
		readonly bandingRowsRatio?: number | undefined;
		readonly bandingColumnsRatio?: number | undefined;
		readonly waveringRatio?: number | undefined;
	}[];
	readonly blockinessRatio: number | null;
	readonly chromaBleedRatio: number | null;
	readonly rimLightRatio: number | null;
	/** Of a printed card: how it was seen, bent by the lens at the picture's corner by so much of the way (below 0: a barrel). */
	readonly view?:
		| { readonly pxPerMm: number; readonly widthMm: number | null; readonly bendRatio: number }
		| undefined;
	/** Edges nearest the picture's middle and farthest out, of the way to its corner; left out where they lie about as far out. */
	readonly centreAndEdge?: CentreAndEdge | undefined;
	/** Bright first; left out where the light was not said. */
	readonly byLight?: readonly SeenByLight[] | undefined;
	/** Left out where the card had no moving edges. */
	readonly motion?: Motion | undefined;
	/** Why nothing is said of what moves, where somebody might look for it; left out elsewhere. */
	readonly motionUntold?: { readonly reason: string; readonly explanation: string } | undefined;
	/** Nearest first; left out where no distances were stated. */
	readonly distances?: readonly SeenAtDistance[] | undefined;
	/** Across the picture's width, from the two farthest apart of the distances, so that the pupil's place does not matter. */
	readonly fieldOfViewDeg?: number | undefined;
	readonly pictureCount: number;
};

/** Every measure of the picture beside a reference run's. */
export type AgainstReference = {
	readonly runId: string;
	readonly subject: string;
	readonly startedAt: string;
	readonly place: string | null;
	/** How much light the scope saw by, here and there; null where it was not said. */
	readonly light: 'bright' | 'dim' | null;
	readonly referenceLight: 'bright' | 'dim' | null;
	readonly rows: readonly {
		readonly name: string;
		readonly unit: string;
		readonly value: number;
		readonly reference: number;
		/** Null where the reference's is 0, or as good as, or on the other side of it. */
		readonly ratio: number | null;
	}[];
};
