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
};

const usual = { better: 'lower', carriesSystematics: false, hangsOn: 'nothing' } as const;

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
	{ ...usual, path: 'freezes.freezes.perMin', label: 'freezes a minute', unit: 'perMin' },
	{ ...usual, path: 'gaps.over500.perMin', label: 'gaps over 500 ms a minute', unit: 'perMin' },
	{ ...usual, path: 'frames.lostRatio', label: 'pictures lost or late', unit: 'ratio' },
	{ ...usual, path: 'colour.medianDeltaE00', label: 'colour shift, middle patch', unit: 'deltaE' },
	{ ...usual, path: 'colour.p95DeltaE00', label: 'colour shift, worst patches', unit: 'deltaE' },
];
