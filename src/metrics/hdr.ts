/**
 * Why nothing of colour or detail is told of an HDR clip: its codes follow another curve and wider primaries (BT.2100), how bright its maker meant
 * them is not in the file, and a conversion would measure the conversion. Counts and times of the same clip stand.
 */
import type { Run } from '../observations/run.ts';
import type { NotMeasured } from './metric.ts';

const NAMES = { hlg: 'HLG', pq: 'PQ' } as const;

/** Null for a clip of the usual curve, and for what is no clip. */
export function hdrReason({ header }: Run): NotMeasured | null {
	if (header.transfer === undefined) return null;
	return {
		kind: 'notMeasured',
		reason: 'hdr',
		explanation: `The clip is HDR (${NAMES[header.transfer]}): its codes are not colours or light as this bench knows them. Switch HDR off and record again.`,
	};
}
