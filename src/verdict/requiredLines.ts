/**
 * Which lines a rig must have met for which answer (the second table of design.md 6). A line that is not here for a rig
 * informs, and never makes an answer undetermined.
 */
import type { Header } from '../observations/records.ts';
import type { LineId } from './criteriaLine.ts';

type Rig = Header['rig'];

export type Requirement =
	/** Every line of `always`; every line of `whereReferenced` unless it has no proper reference; at least one of those if so said. */
	| {
			readonly kind: 'asked';
			readonly always: readonly LineId[];
			readonly whereReferenced: readonly LineId[];
			readonly atLeastOneReferenced: boolean;
	  }
	/** This rig does not ask it. */
	| { readonly kind: 'notAsked' }
	/** The answer comes from something that this run does not hold. */
	| { readonly kind: 'elsewhere'; readonly because: string };

function lines(...always: LineId[]): Requirement {
	return { kind: 'asked', always, whereReferenced: [], atLeastOneReferenced: false };
}

const table: Readonly<Record<Rig, Readonly<Record<'steer' | 'record', Requirement>>>> = {
	link: {
		steer: lines('age', 'delay', 'half-second', 'variation', 'rate', 'freezes', 'gaps', 'lost'),
		record: lines('continuity', 'moving-record', 'lost-record', 'colour', 'colour-p95'),
	},
	optical: {
		steer: lines('age', 'delay', 'half-second', 'variation', 'rate', 'freezes', 'gaps', 'orientation'),
		record: { kind: 'elsewhere', because: 'drop in the kit’s own recording' },
	},
	recording: {
		steer: { kind: 'notAsked' },
		record: {
			kind: 'asked',
			always: ['continuity', 'moving-record', 'lost-record'],
			whereReferenced: ['colour', 'colour-p95', 'detail'],
			atLeastOneReferenced: false,
		},
	},
	still: {
		steer: { kind: 'notAsked' },
		record: {
			kind: 'asked',
			always: [],
			whereReferenced: ['colour', 'colour-p95', 'detail'],
			atLeastOneReferenced: true,
		},
	},
};

/** What the rig asks for that answer; a rig this table does not know gets no yes: its answer lies elsewhere. */
export function requirementOf(rig: Rig, answer: 'steer' | 'record'): Requirement {
	const row = Object.hasOwn(table, rig) ? table[rig] : undefined;
	return row?.[answer] ?? { kind: 'elsewhere', because: `no lines are laid down for the rig "${rig}"` };
}

/** Lines whose time shares rest on the run's length, so that the spell rule binds: an optical session's fast clips are short. */
export function spellRuleBinds(rig: Rig, id: LineId): boolean {
	if (id === 'age' || id === 'rate') return true;
	return (id === 'delay' || id === 'variation') && rig !== 'optical';
}
