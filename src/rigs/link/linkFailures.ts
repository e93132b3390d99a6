/** The failures of a link run that no single part can name. */
import { OutsideFailure } from '../../failure.ts';

export function viewerNeverCame(): OutsideFailure {
	return new OutsideFailure(
		'viewerNeverCame',
		'No viewer opened the picture in time.',
		'Open the address on the tablet, tap start there, and check that both are on the same network.',
	);
}

export function viewerStillAwaited(): OutsideFailure {
	return new OutsideFailure(
		'viewerStillAwaited',
		'The run was stopped before a viewer had come. Nothing was observed, and nothing is kept.',
		'Start it again, and open the address on the tablet.',
	);
}

export function relayLost(): OutsideFailure {
	return new OutsideFailure(
		'relayLost',
		'The process that stands for the air ended by itself.',
		'What was observed up to then is kept; measure again.',
	);
}
