/** The failures of a link run that no single part can name. */
import { OutsideFailure } from '../../failure.ts';

export function viewerNeverCame(): OutsideFailure {
	return new OutsideFailure(
		'viewerNeverCame',
		'No viewer opened the picture in time.',
		'Open the address on the tablet, tap start there, and check that both are on the same network.',
	);
}

export function relayLost(): OutsideFailure {
	return new OutsideFailure(
		'relayLost',
		'The process that stands for the air ended by itself.',
		'What was observed up to then is kept; measure again.',
	);
}
