/** What a judged run says, as the result document carries it. */
export type Answer = 'yes' | 'no' | 'undetermined' | 'notAsked';
export type Fitness = 'steering' | 'recording' | 'unfit' | 'undetermined';
export type LineState = 'met' | 'notMet' | 'undecided' | 'notMeasured' | 'informs';

/** One line of the criteria, judged. */
export type JudgedLine = {
	readonly id: string;
	readonly gates: readonly ('steer' | 'record')[];
	/** Whether this rig and subject must have it met. */
	readonly required: readonly ('steer' | 'record')[];
	/** The line in words: "share of time with a picture older than 240 ms". */
	readonly label: string;
	readonly unit: 'ratio' | 'ms' | 'perMin' | 'deltaE' | 'none';
	readonly limit: number | null;
	readonly reading: number | null;
	/** One-sided 95 % bound on the side that matters, uncertainty of the rig included; null when there is none. */
	readonly bound: number | null;
	readonly state: LineState;
	/** Why, when undecided or not measured; otherwise a short account. */
	readonly because: string;
	readonly margin: number | null;
	readonly source: string;
	readonly strength: string;
	/** About how many more seconds of observation would settle it; null: settled, or longer will not settle it. */
	readonly settleBySeconds: number | null;
	readonly longerWillSettle: boolean;
};

export type Verdict = {
	readonly fitness: Fitness;
	readonly steer: Answer;
	readonly record: Answer;
	/** "fit for live steering", "fit for recording only", … with the words of design.md 6. */
	readonly headline: string;
	readonly order: string;
	readonly subject: string;
	/** Room left for the scope and its app; null for a kit, or when steering is not yes. */
	readonly roomLeftMs: number | null;
	/** Smallest margin over the required steering lines that have a scale. */
	readonly margin: number | null;
	readonly decidedBy: readonly string[];
	readonly settleBySeconds: number | null;
	/** "speaks for disturbances up to about 2.5 s long; …" */
	readonly speaksFor: string;
	readonly criteria: { readonly name: string; readonly hash: string };
};
