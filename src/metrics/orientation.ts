/**
 * How the kit shows its picture: upright, turned, or a mirror image, of all clips the worst. Seen by the optical rig only: the marker's
 * corners on the tablet against those on the laptop.
 */
import type { Run } from '../observations/run.ts';
import type { Metric, Orientation, Warning } from './metric.ts';
import { missingFromSession, ordinaryTooShort, sessionSeen } from './opticalSession.ts';

const WORSE_AND_WORSE = ['upright', 'turned', 'mirrored'] as const;

export function measureOrientation(run: Run): Metric<Orientation> {
	const seen = run.events.flatMap(({ code, detail }) => {
		const found = code === 'orientation' ? /^(\w+), turned (-?\d+) degrees/.exec(detail ?? '') : null;
		const shown = WORSE_AND_WORSE.find((each) => each === found?.[1]);
		return found === null || shown === undefined ? [] : [{ shown, turnedDeg: Number(found[2]) }];
	});
	const [first, ...others] = seen;
	if (run.header.rig !== 'optical' || first === undefined)
		return {
			kind: 'notMeasured',
			reason: 'notThisRig',
			explanation:
				'Which way up the scope shows its picture can only be seen through its lens, by the optical rig.',
		};
	const worst = others.reduce((a, b) => (rank(b.shown) > rank(a.shown) ? b : a), first);
	const asMeant = run.events.some(({ code }) => code === 'turnedAsMeant');
	return { kind: 'measured', ...worst, asMeant, count: seen.length };
}

function rank(shown: Orientation['shown']): number {
	return WORSE_AND_WORSE.indexOf(shown);
}

const codes: ReadonlySet<string> = new Set([
	'clipLeftOut',
	'clipHdr',
	'filmsMayBeOne',
	'sessionsMixed',
	'clipPartlyUsed',
	'filmCut',
	'methodsApart',
	'phaseStands',
	'phaseUnseen',
	'tabletPartlyUnread',
	'curveApart',
]);

/** What reading the clips of an optical session noticed: "seen|what to do" in an event's detail. */
export function clipWarnings(run: Run): Warning[] {
	if (run.header.rig !== 'optical') return [];
	const missing = missingFromSession(run).map((order) => ({
		code: 'sessionMissing',
		seen: 'The session is not whole yet.',
		advice: sentence(order),
	}));
	const ofFilms = standingTogether(run.events).flatMap(({ code, detail }) => {
		if (code === 'clipStretched' || code === 'clipDamaged')
			return [{ code, seen: sentence(detail ?? ''), advice: advices[code] }];
		if (!codes.has(code)) return [];
		const [seen = '', advice = ''] = (detail ?? '').split('|');
		return [{ code, seen: sentence(seen), advice: sentence(advice) }];
	});
	const isLeftOut = ({ code }: Warning) => code === 'clipLeftOut';
	return [
		// Why a film that was given is not there is looked for before all else.
		...ofFilms.filter(isLeftOut),
		...sessionSeen(run),
		...missing,
		...ordinaryTooShort(run),
		...ofFilms.filter((warning) => !isLeftOut(warning)),
	];
}

/** What stands in one film of a session stands in most: told once, by the first film's figure, with the others' names. */
function standingTogether(events: Run['events']): Run['events'] {
	return events.flatMap((event) => {
		if (event.code !== 'phaseStands' && event.code !== 'phaseUnseen') return [event];
		const alike = events.filter(({ code }) => code === event.code);
		if (alike[0] !== event) return [];
		const names = alike.slice(1).map(({ detail }) => (detail ?? '').split(': ')[0]!);
		const [seen = '', advice = ''] = (event.detail ?? '').split('|');
		const others = names.length === 0 ? '' : `. The same of ${names.join(', ')}`;
		return [{ ...event, detail: `${seen}${others}|${advice}` }];
	});
}

/** A film's name stays as it is written. */
function sentence(words: string): string {
	const isName = /^\S+\.\w+\b/.test(words);
	const first = isName ? words : `${words.charAt(0).toUpperCase()}${words.slice(1)}`;
	return first.endsWith('.') ? first : `${first}.`;
}

const advices = {
	clipStretched: 'Nothing need be done: time comes from the card in the picture, not from the file.',
	clipDamaged: 'Copy the original again, by cable.',
} as const;
