/** Name and identity of a new run: when and what, or what the person calls it. */
import { WrongUsage } from './wrongUsage.ts';

/** Letters, digits, dot, dash and underline, not first a dot: what is safe as a folder name everywhere. */
const SAFE_NAME = /^[A-Za-z0-9][A-Za-z0-9._-]{0,79}$/;

/** Throws `WrongUsage` for a name that is no folder name everywhere. */
export function newRunName(what: string, named?: string): string {
	if (named === undefined)
		return `${new Date().toISOString().slice(0, 19).replace(/[:]/g, '').replace('T', '-')}-${what}`;
	if (!SAFE_NAME.test(named))
		throw new WrongUsage(
			`${named} cannot name a run: use letters, digits, dots, dashes and underlines, 80 at most`,
		);
	return named;
}
