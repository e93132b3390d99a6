/**
 * An invented optical bench: laptop screen, scope, link, tablet and filming phone, as numbers. All times in ms of true time; phases
 * are offsets of each device's own clock. Models, not measurements: exponential liquid crystal, no strobed backlight.
 */

export type OpticalSpec = {
	readonly seed: number;
	readonly durationMs: number;
	/** Tick on the laptop at time 0. */
	readonly firstTick: number;
	readonly laptop: {
		readonly periodMs: number;
		/** Time constant of the liquid crystal. */
		readonly responseMs: number;
		/** Share of refreshes in which the page did not draw anew. */
		readonly missedRatio: number;
		/** Nominal rate that the label tells. */
		readonly labelHz: number | null;
	};
	readonly scope: {
		readonly periodMs: number;
		readonly exposureMs: number;
		readonly phaseMs: number;
		/** Standard deviation of each picture's own time. */
		readonly jitterMs: number;
	};
	readonly link: {
		/** Middle of exposure to ready for the tablet's display. */
		readonly delayMs: number;
		/** Half-normal extra. */
		readonly jitterMs: number;
		readonly lateRatio: number;
		readonly lateMs: number;
		readonly dropRatio: number;
		/** Spells in which nothing new is shown; what was sent in them is lost. */
		readonly freezes: readonly { readonly fromMs: number; readonly forMs: number }[];
	};
	readonly tablet: {
		readonly periodMs: number;
		readonly responseMs: number;
		readonly phaseMs: number;
		readonly missedRatio: number;
	};
	readonly phone: {
		readonly periodMs: number;
		readonly exposureMs: number;
		readonly phaseMs: number;
		/** Top row to bottom row. */
		readonly readoutMs: number;
		/** Heights of the laptop's and the tablet's marker in its picture, 0 top to 1 bottom. */
		readonly laptopHeightRatio: number;
		readonly tabletHeightRatio: number;
		/** How many times slower than true time the file plays. */
		readonly stretch: number;
	};
	/** Standard deviation of each number of a soft vector read by the phone. */
	readonly vectorNoise: number;
	/** What a blurred marker leaves of the pairs' contrast. */
	readonly vectorGain: number;
};

/** An ordinary bench: 60 Hz laptop and tablet, 30 pictures a second, a 120 frames/s phone, one crystal each (0.6 to 1.4e-3 apart). */
export const usualOpticalSpec: OpticalSpec = {
	seed: 1,
	durationMs: 20_000,
	firstTick: 1000,
	laptop: { periodMs: 1000 / 60, responseMs: 4, missedRatio: 0.003, labelHz: 60 },
	scope: { periodMs: 1000 / 30.03, exposureMs: 10, phaseMs: 3, jitterMs: 0 },
	link: { delayMs: 90, jitterMs: 5, lateRatio: 0.02, lateMs: 30, dropRatio: 0.01, freezes: [] },
	tablet: { periodMs: 1000 / 59.95, responseMs: 3, phaseMs: 5, missedRatio: 0.01 },
	phone: {
		...{ periodMs: 1000 / 120.1, exposureMs: 4, phaseMs: 2, readoutMs: 0, stretch: 1 },
		...{ laptopHeightRatio: 0.5, tabletHeightRatio: 0.5 },
	},
	vectorNoise: 0.08,
	vectorGain: 0.9,
};
