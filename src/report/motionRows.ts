/** What is left of parts that move, as questions with plain answers and exact figures. Computes no figure. */
import type { Fidelity, Motion } from '../metrics/pictureMetric.ts';
import type { FidelityRow } from './fidelityRow.ts';
import { formatMs, formatNumber, formatShare, formatTrimmed } from './numbers.ts';

/** Less of earlier pictures than this is not seen as a ghost; this project's choice, no source. */
const GHOST_RATIO = 0.05;
/** Spread by less, no shutter is told: the reading itself strays so far; this project's choice, no source. */
const SPREAD_PX = 0.05;
/** Off by less, a movement passes for kept; this project's choice, no source. */
const KEPT_RATIO = 0.1;

export function motionRows({
	motion,
	motionUntold,
}: Pick<Fidelity, 'motion' | 'motionUntold'>): FidelityRow[] {
	if (motionUntold !== undefined) return [['What does movement cost?', 'not told', motionUntold.explanation]];
	if (motion === undefined) return [];
	return [...motion.speeds.map((speed) => speedRow(motion, speed)), ...ghostRows(motion), pulseRow(motion)];
}

function speedRow({ picturesHz, atRestMtf50CyPx }: Motion, speed: Motion['speeds'][number]): FidelityRow {
	const { speedPx, detailKeptRatio, mtf50CyPx, smearPx, shutterMs } = speed;
	const perSecond = picturesHz === null ? '' : `, ${formatNumber(speedPx * picturesHz)} px a second`;
	const smear =
		smearPx === null || shutterMs === null
			? ''
			: smearPx < SPREAD_PX
				? '; not spread by moving'
				: `; spread by ${formatNumber(smearPx, 1)} px, as a shutter open for ${formatMs(shutterMs)} would`;
	return [
		`Detail kept at ${formatTrimmed(speedPx)} px a picture?`,
		detailKeptRatio === null ? 'not read' : `${formatShare(detailKeptRatio)} of the same edge’s at rest`,
		`MTF50 ${mtf50CyPx === null ? 'beyond 1' : formatNumber(mtf50CyPx, 3)} against ${atRestMtf50CyPx === null ? 'beyond 1' : formatNumber(atRestMtf50CyPx, 3)} cycles a pixel at rest${perSecond}${smear}`,
	];
}

function ghostRows({ earlierRatio }: Motion): FidelityRow[] {
	if (earlierRatio === null) return [];
	return [
		[
			'Do earlier pictures shine through?',
			earlierRatio > GHOST_RATIO ? 'yes: what moves drags a ghost of itself' : 'no',
			`${formatShare(Math.max(0, earlierRatio))} of a moving bar is seen where the four pictures before had it`,
		],
	];
}

function pulseRow({ pulse }: Motion): FidelityRow {
	const asked = 'Does a small pulse survive?';
	if (pulse.kind === 'notMeasured') return [asked, 'not told', pulse.explanation];
	const off = Math.abs(pulse.keptRatio - 1);
	return [
		asked,
		off <= KEPT_RATIO
			? 'yes, it keeps its size'
			: `${pulse.keptRatio < 1 ? 'smaller' : 'larger'}: ${formatShare(pulse.keptRatio)} of its size`,
		`${formatNumber(pulse.ratePerMin, 1)} a minute, ${formatNumber(pulse.sourceAmplitudePx, 1)} px drawn, ${formatNumber(pulse.seenAmplitudePx, 2)} px seen; ${formatMs(Math.abs(pulse.lagMs))} ${pulse.lagMs < 0 ? 'before' : 'after'} the picture it was drawn in, the way’s own delay not counted`,
	];
}
