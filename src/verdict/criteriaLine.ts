/** One line of the criteria: what it asks of one figure. Where the numbers come from: standardLines.ts. */
export const LINE_IDS = [
	'age',
	'delay',
	'half-second',
	'variation',
	'rate',
	'freezes',
	'gaps',
	'lost',
	'lost-record',
	'orientation',
	'continuity',
	'moving-record',
	'colour',
	'colour-p95',
	'detail',
] as const;
export type LineId = (typeof LINE_IDS)[number];

export type CriteriaLine = {
	readonly id: LineId;
	readonly gates: readonly ('steer' | 'record')[];
	/** The line in words; `{level}` stands for the level. */
	readonly label: string;
	/** What the line counts beyond (ms, pictures a second); null where it has none. */
	readonly level: number | null;
	/** Unit of limit, reading and bound. */
	readonly unit: 'ratio' | 'ms' | 'perMin' | 'deltaE' | 'none';
	readonly direction: 'atMost' | 'atLeast';
	/** Null where the line is not a number (orientation). */
	readonly limit: number | null;
	/** The stricter limit of the long profile, where rare events are judged; null: the same. */
	readonly limitLong: number | null;
	/** Told as comfortable beside the limit; gates nothing. In the unit of the level where there is one, else of the limit. */
	readonly comfort: number | null;
	/** How far from the limit makes one whole of margin, in `scaleUnit`; null: no part in the margin. */
	readonly scale: number | null;
	readonly scaleUnit: 'ratio' | 'ms' | null;
	readonly source: string;
	readonly strength: string;
};
