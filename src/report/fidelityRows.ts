/** How true the picture is, a question a row: asked, answered in plain words, and exactly. For page and text alike; computes no figure. */
import type { Metric } from '../metrics/metric.ts';
import type { Fidelity, LensClearing, Sharpness } from '../metrics/pictureMetric.ts';
import type { FidelityRow } from './fidelityRow.ts';
import { motionRows } from './motionRows.ts';
import { formatNumber, formatShare, formatTrimmed } from './numbers.ts';
import { flickerRows, lightRows, viewRows } from './viewRows.ts';

/** None where nothing of it was measured. */
export function fidelityRows(metrics: {
	readonly sharpness: Metric<Sharpness>;
	readonly fidelity?: Metric<Fidelity>;
	readonly lensClearing?: Metric<LensClearing>;
}): readonly FidelityRow[] {
	const { fidelity, sharpness, lensClearing } = metrics;
	const clearing = lensClearing === undefined ? [] : clearingRows(lensClearing);
	if (fidelity?.kind !== 'measured') return [...clearing, ...sharpnessRows(sharpness, undefined)];
	return [
		...clearing,
		...sharpnessRows(sharpness, fidelity.view),
		...lineRows(fidelity),
		...colourRows(fidelity),
		...noiseRows(fidelity),
		...flickerRows(fidelity),
		...codecRows(fidelity),
		...viewRows(fidelity),
		...distanceRows(fidelity),
		...lightRows(fidelity),
		...motionRows(fidelity),
	];
}

function sharpnessRows(sharpness: Metric<Sharpness>, view: Fidelity['view']): FidelityRow[] {
	if (sharpness.kind === 'notMeasured') return [];
	const { mtf50CyPx, ofReferenceRatio, overshootRatio, mtf10CyPx } = sharpness;
	const detailPx = 1 / (2 * mtf50CyPx);
	const detail =
		view === undefined ? `${formatNumber(detailPx, 1)} px` : `${formatNumber(detailPx / view.pxPerMm, 2)} mm`;
	const left =
		ofReferenceRatio === null
			? `half of the contrast is left for details of ${detail}`
			: `${formatShare(ofReferenceRatio)} of the reference’s fine detail is left`;
	const bounds = sharpness.ofReferenceLowerRatio;
	const rows: FidelityRow[] = [
		[
			'Is fine detail kept?',
			left,
			`MTF50 ${formatNumber(mtf50CyPx, 3)}, MTF10 ${mtf10CyPx === null ? 'beyond 1' : formatNumber(mtf10CyPx, 3)} cycles a pixel${bounds === null ? '' : `; at least ${formatShare(bounds)} of the reference`}`,
		],
	];
	if (overshootRatio > 0)
		rows.push([
			'Was it sharpened afterwards?',
			'yes: edges have a rim that is not there',
			`overshoot ${formatShare(overshootRatio)} of the step`,
		]);
	const { edges } = sharpness;
	if (edges.length > 1)
		rows.push(['… across the picture, and down it?', edgeWords(edges), 'MTF50, cycles a pixel']);
	return rows;
}

/** From the least to the greatest, each way. */
function edgeWords(edges: Sharpness['edges']): string {
	return (['across', 'down'] as const)
		.flatMap((axis) => {
			const read = edges.filter((edge) => edge.axis === axis).map(({ mtf50CyPx }) => mtf50CyPx);
			if (read.length === 0) return [];
			const [least, most] = [formatNumber(Math.min(...read), 3), formatNumber(Math.max(...read), 3)];
			return [`${least === most ? least : `${least} to ${most}`} ${axis}`];
		})
		.join(', ');
}

const CRITERION = 'seen: a fifth of the drawn contrast and three times the noise, both ways';

function lineRows({ smallestSeen, smallestSeenByColour, lines }: Fidelity): FidelityRow[] {
	if (lines.length === 0) return [];
	const words = (smallest: Fidelity['smallestSeen']): string =>
		smallest === null ? 'none of those drawn' : `${formatTrimmed(smallest.width)} ${smallest.unit}`;
	const coloured = lines.some(({ chromaRatio }) => chromaRatio !== null);
	const rows: FidelityRow[] = [['How fine a line can still be seen?', words(smallestSeen), CRITERION]];
	// Unscaled, as pixels of a video: those of 4:2:0 hold the colour of two.
	const most = lines[0]!.unit === 'px' ? '; under 2 px most video holds none' : '';
	if (coloured)
		rows.push(['… and its redness?', words(smallestSeenByColour), `the same, in chroma alone${most}`]);
	return rows;
}

function colourRows({ fit, reds, burntOut, drowned, runTogether }: Fidelity): FidelityRow[] {
	const rows: FidelityRow[] = [];
	if (fit !== null)
		rows.push([
			'What would a white balance cure?',
			cureWords(fit),
			`median with the best exposure and white point: light × ${formatNumber(fit.exposureRatio, 3)}, red/green ${formatNumber(fit.redOverGreen, 3)}, blue/green ${formatNumber(fit.blueOverGreen, 3)}; exposure alone leaves ${formatNumber(fit.medianAfterExposureDeltaE00, 2)}; P95 before ${formatNumber(fit.p95BeforeDeltaE00, 2)}, after both ${formatNumber(fit.p95AfterBothDeltaE00, 2)} (CIEDE2000)`,
		]);
	if (reds !== null) rows.push(['Where did the reds go?', redsWords(reds), redsExactly(reds)]);
	const ends = [
		burntOut.length > 0 ? `burnt out: ${burntOut.join(', ')}` : '',
		drowned.length > 0 ? `drowned: ${drowned.join(', ')}` : '',
		runTogether.length > 0 ? `no longer told from the next lighter grey: ${runTogether.join(', ')}` : '',
	].filter((words) => words !== '');
	if (fit !== null || ends.length > 0)
		rows.push([
			'Is anything cut off, light or dark?',
			ends.length === 0 ? 'no' : ends.join('; '),
			'codes at an end of the range',
		]);
	return rows;
}

/** Less is nothing to mend; this project's choice, no source. */
const CURE_DELTA_E00 = 0.5;

function cureWords({
	medianBeforeDeltaE00: before,
	medianAfterBothDeltaE00: after,
}: NonNullable<Fidelity['fit']>): string {
	return before - after < CURE_DELTA_E00
		? `hardly anything: colours are off by ${formatNumber(before, 2)} as they are; 1 is just seen side by side`
		: `colours would be off by ${formatNumber(after, 2)} in place of ${formatNumber(before, 2)}; 1 is just seen side by side`;
}

const PLAIN_HUE_DEG = 2;

function redsWords({ hueDeg, chromaRatio }: NonNullable<Fidelity['reds']>): string {
	const turn =
		Math.abs(hueDeg) < PLAIN_HUE_DEG
			? 'their hue is kept'
			: hueDeg > 0
				? 'turned towards yellow'
				: 'turned towards violet';
	const strength =
		Math.abs(chromaRatio - 1) < 0.05
			? ''
			: chromaRatio < 1
				? ', paler than they should be'
				: ', redder than they should be';
	return turn + strength;
}

function redsExactly({
	hueDeg,
	worstHueDeg,
	chromaRatio,
	patchCount,
}: NonNullable<Fidelity['reds']>): string {
	return `hue ${formatNumber(hueDeg, 1)} degrees (worst ${formatNumber(worstHueDeg, 1)}), chroma × ${formatNumber(chromaRatio, 3)}, ${formatNumber(patchCount)} patches`;
}

function noiseRows({ noise }: Fidelity): FidelityRow[] {
	const middle = noise[noise.length >> 1];
	if (middle === undefined) return [];
	const { signalToNoiseRatio: ratio, temporalRatio, fixedPatternRatio } = middle;
	const frozen = noise.every((patch) => patch.frozen);
	return [
		[
			'How much does it grain and flicker?',
			frozen
				? 'nothing moves: the pictures are the same to the last pixel, frozen'
				: ratio === null
					? 'no grain at all on a middle grey'
					: `a middle grey is ${formatNumber(ratio)} times its grain`,
			`${middle.patch}: signal to noise ${ratio === null ? 'without noise' : `${formatNumber(ratio, 1)} (${formatNumber(20 * Math.log10(ratio), 1)} dB)`}; from picture to picture ${temporalRatio === null ? 'not known from one' : formatShare(temporalRatio)}, standing ${formatShare(fixedPatternRatio)} of white, linear light`,
		],
	];
}

function codecRows({ blockinessRatio, chromaBleedRatio, rimLightRatio }: Fidelity): FidelityRow[] {
	const rows: FidelityRow[] = [];
	if (blockinessRatio !== null)
		rows.push([
			'Are there blocks?',
			blockinessRatio < 1.3 ? 'none to speak of' : 'yes, a grid of squares',
			`step across the grid over step elsewhere ${formatNumber(blockinessRatio, 2)} (1 = none)`,
		]);
	if (chromaBleedRatio !== null)
		rows.push([
			'Does colour run over edges?',
			chromaBleedRatio > 0.1 ? 'yes' : 'no',
			`${formatShare(chromaBleedRatio)} of a patch’s chroma is found beside it`,
		]);
	if (rimLightRatio !== null)
		rows.push([
			'How much light is left at the rim?',
			`${formatShare(rimLightRatio)} of the light in the middle`,
			'linear light, where the card reaches',
		]);
	return rows;
}

function distanceRows({ distances = [], fieldOfViewDeg }: Fidelity): FidelityRow[] {
	const rows = distances.map(
		(at): FidelityRow => [
			`At ${formatTrimmed(at.distanceMm)} mm?`,
			at.detailRatio === null
				? 'detail not read'
				: `${formatShare(at.detailRatio)} of the nearest’s fine detail${at.signalRatio === null ? '' : `, grain ${formatNumber(1 / at.signalRatio, 2)} times as strong`}`,
			`MTF50 ${at.mtf50CyPerMm === null ? 'not read' : formatNumber(at.mtf50CyPerMm, 2)} cycles a millimetre; signal to noise ${at.signalToNoiseRatio === null ? 'without noise' : formatNumber(at.signalToNoiseRatio, 1)}`,
		],
	);
	if (fieldOfViewDeg !== undefined)
		rows.push([
			'How wide is the view?',
			`${formatNumber(fieldOfViewDeg)} degrees across the picture`,
			'from two distances: tan(FOV/2) = (r2 − r1) / (d2 − d1)',
		]);
	return rows;
}

function clearingRows(clearing: Metric<LensClearing>): FidelityRow[] {
	const asked = 'How fast does the lens clear after a flush?';
	if (clearing.kind === 'notMeasured') return [[asked, 'not told', clearing.explanation]];
	const { flushes, notToldCount, repeats } = clearing;
	const rows: FidelityRow[] =
		repeats === null
			? [[asked, 'it never came back to nine tenths of clean', '']]
			: [
					[
						asked,
						`${seconds(repeats.middleMs)} to nine tenths of clean${repeats.neverCount > 0 ? `; ${formatNumber(repeats.neverCount)} of ${formatNumber(flushes.length)} never` : ''}`,
						repeats.count > 1
							? `middle of ${formatNumber(repeats.count)} flushes, ${seconds(repeats.rangeMs)} between the fastest and the slowest`
							: 'one flush: how well it repeats is not known',
					],
				];
	for (const [i, flush] of flushes.entries())
		rows.push([
			`… flush ${i + 1}, at ${seconds(flush.flushMs)}`,
			`${flush.toNineTenthsMs === null ? 'never clear' : `clear after ${seconds(flush.toNineTenthsMs)}`}; ${formatShare(flush.remainsRatio)} of the clean contrast still missing at the end`,
			`flush ${flush.flushFound}; at its worst ${formatShare(flush.lowRatio)} of the clean lens’s contrast of lines`,
		]);
	if (notToldCount > 0)
		rows.push(['… smears not told', formatNumber(notToldCount), 'never clearly worse, or too few pictures']);
	return rows;
}

function seconds(ms: number): string {
	return `${formatNumber(ms / 1000, 2)} s`;
}
