/** What kits are compared on, and held against their own reference on: figures of a result, by their place in it. */
export type ComparedFigure = {
	/** Place within the result's metrics. */
	readonly path: string;
	readonly label: string;
	readonly unit: 'ratio' | 'ms' | 'perMin' | 'deltaE' | 'none';
	readonly better: 'lower' | 'higher';
	/** Whether the rig's systematic doubt, in ms, is in it whole. */
	readonly carriesSystematics: boolean;
	/** What must be alike in both for the figure to mean the same. */
	readonly hangsOn: 'nothing' | 'criteria' | 'sourceRate';
	/**
	 * For figures that are counts over something: where the result says over how much, and by what to divide that so that the figure
	 * times it is a number of events. Null for figures that are no counts.
	 */
	readonly counted: { readonly exposurePath: string; readonly divisor: number } | null;
	/** New with a new tube or camera: then the old reference is shown and does not bind. */
	readonly ofThePicture: boolean;
	/** Whether it means the same between two kits; cycles a pixel do not, where their pictures have other numbers of pixels. */
	readonly withinOneKit: boolean;
};

const usual = {
	better: 'lower',
	carriesSystematics: false,
	hangsOn: 'nothing',
	counted: null,
	ofThePicture: false,
	withinOneKit: false,
} as const;
const MS_PER_MIN = 60_000;

export const comparedFigures: readonly ComparedFigure[] = [
	{
		...usual,
		path: 'pictureAge.p95Ms',
		label: 'how old the picture is, 19 times in 20',
		unit: 'ms',
		carriesSystematics: true,
	},
	{ ...usual, path: 'freshDelay.medianMs', label: 'delay, median', unit: 'ms', carriesSystematics: true },
	{
		...usual,
		path: 'freshDelay.p95Ms',
		label: 'delay, 19 times in 20',
		unit: 'ms',
		carriesSystematics: true,
	},
	{
		...usual,
		path: 'pictureAge.shareOverLimitRatio',
		label: 'time with a picture older than the limit',
		unit: 'ratio',
		hangsOn: 'criteria',
		counted: { exposurePath: 'pictureAge.overLimit.effectiveCount', divisor: 1 },
	},
	{ ...usual, path: 'delayVariation.spreadMs', label: 'unevenness of delay, P95 less P5', unit: 'ms' },
	{
		...usual,
		path: 'deliveredRate.p5Hz',
		label: 'pictures a second, in all but the slowest twentieth',
		unit: 'none',
		better: 'higher',
		hangsOn: 'sourceRate',
	},
	{
		...usual,
		path: 'freezes.freezes.perMin',
		label: 'freezes a minute',
		unit: 'perMin',
		counted: { exposurePath: 'freezes.freezes.observedMs', divisor: MS_PER_MIN },
	},
	{
		...usual,
		path: 'gaps.over500.perMin',
		label: 'gaps over 500 ms a minute',
		unit: 'perMin',
		counted: { exposurePath: 'gaps.over500.observedMs', divisor: MS_PER_MIN },
	},
	{
		...usual,
		path: 'frames.lostRatio',
		label: 'pictures lost or late',
		unit: 'ratio',
		counted: { exposurePath: 'frames.lostEffectiveCount', divisor: 1 },
	},
	{
		...usual,
		path: 'colour.medianDeltaE00',
		label: 'colour shift, middle patch',
		unit: 'deltaE',
		ofThePicture: true,
	},
	{
		...usual,
		path: 'colour.p95DeltaE00',
		label: 'colour shift, worst patches',
		unit: 'deltaE',
		ofThePicture: true,
	},
	{
		...usual,
		path: 'sharpness.mtf50CyPx',
		label: 'fine detail (MTF50), cycles a pixel',
		unit: 'none',
		better: 'higher',
		ofThePicture: true,
		withinOneKit: true,
	},
];
