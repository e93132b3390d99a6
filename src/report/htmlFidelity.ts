/**
 * How true the picture is, as a section of the page: one question a row, answered in plain words, its exact figure beside it.
 * The lines that are left are drawn as strokes of their own width, full where seen, broken where not. Computes no figure.
 */
import type { Fidelity, Metric, Sharpness } from '../metrics/metric.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { html, joinHtml, nothing, paragraph, type SafePiece, section, table } from './htmlParts.ts';
import { formatNumber, formatShare, formatTrimmed } from './numbers.ts';

type Row = readonly [question: string, answer: string, exact: string];

/** Nothing where no picture's detail was read. */
export function fidelityPart({ metrics }: ResultDocument): SafePiece {
	const { fidelity, sharpness } = metrics;
	if (fidelity === undefined && sharpness.kind === 'notMeasured') return nothing;
	const title = 'How true the picture is';
	if (fidelity === undefined || fidelity.kind === 'notMeasured')
		return section('fidelity', title, [paragraph(fidelity?.explanation ?? 'Only edges were read.')]);
	const rows = fidelityRows(metrics);
	return section('fidelity', title, [
		table(
			`Middle of ${formatNumber(fidelity.pictureCount)} pictures looked at closely. The right-hand column is for whoever wants it exactly.`,
			[{ title: 'asked' }, { title: 'answer' }, { title: 'exactly' }],
			rows.map((row) => [...row]),
		),
		strokes(fidelity.lines),
	]);
}

/** Question, plain answer, exact figure. */
function fidelityRows(metrics: {
	readonly sharpness: Metric<Sharpness>;
	readonly fidelity?: Metric<Fidelity>;
}): readonly Row[] {
	const { fidelity, sharpness } = metrics;
	if (fidelity?.kind !== 'measured') return sharpnessRows(sharpness);
	return [
		...sharpnessRows(sharpness),
		...lineRows(fidelity),
		...colourRows(fidelity),
		...noiseRows(fidelity),
		...codecRows(fidelity),
	];
}

function sharpnessRows(sharpness: Metric<Sharpness>): Row[] {
	if (sharpness.kind === 'notMeasured') return [];
	const { mtf50CyPx, ofReferenceRatio, overshootRatio, mtf10CyPx } = sharpness;
	const left =
		ofReferenceRatio === null
			? `half of the contrast is left for details of ${formatNumber(1 / (2 * mtf50CyPx), 1)} px`
			: `${formatShare(ofReferenceRatio)} of the reference’s fine detail is left`;
	const bounds = sharpness.ofReferenceLowerRatio;
	const rows: Row[] = [
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
	for (const { place, axis, mtf50CyPx: each } of sharpness.edges)
		if (sharpness.edges.length > 1)
			rows.push([`… ${place}, ${axis}`, '', `MTF50 ${formatNumber(each, 3)} cycles a pixel`]);
	return rows;
}

const CRITERION = 'seen: a fifth of the drawn contrast and three times the noise, both ways';

function lineRows({ smallestSeen, smallestSeenByColour, lines }: Fidelity): Row[] {
	if (lines.length === 0) return [];
	const words = (smallest: Fidelity['smallestSeen']): string =>
		smallest === null ? 'none of those drawn' : `${formatTrimmed(smallest.width)} ${smallest.unit}`;
	const coloured = lines.some(({ chromaRatio }) => chromaRatio !== null);
	const rows: Row[] = [['How fine a line can still be seen?', words(smallestSeen), CRITERION]];
	if (coloured)
		rows.push(['… and its redness?', words(smallestSeenByColour), `${CRITERION}, in chroma alone`]);
	return rows;
}

function colourRows({ fit, reds, burntOut, drowned, runTogether }: Fidelity): Row[] {
	const rows: Row[] = [];
	if (fit !== null)
		rows.push([
			'What would a white balance cure?',
			`with the best exposure and white point the middle shift is ${formatNumber(fit.medianAfterBothDeltaE00, 2)}`,
			`light × ${formatNumber(fit.exposureRatio, 3)}, red/green ${formatNumber(fit.redOverGreen, 3)}, blue/green ${formatNumber(fit.blueOverGreen, 3)}; exposure alone leaves ${formatNumber(fit.medianAfterExposureDeltaE00, 2)}; P95 after both ${formatNumber(fit.p95AfterBothDeltaE00, 2)} (CIEDE2000)`,
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

const PLAIN_HUE_DEG = 2;

function redsWords({ hueDeg, chromaRatio }: NonNullable<Fidelity['reds']>): string {
	const turn =
		Math.abs(hueDeg) < PLAIN_HUE_DEG
			? 'their hue is kept'
			: hueDeg > 0
				? 'turned towards yellow'
				: 'turned towards violet';
	const strength =
		Math.abs(chromaRatio - 1) < 0.05 ? '' : chromaRatio < 1 ? ', paler than drawn' : ', redder than drawn';
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

function noiseRows({ noise }: Fidelity): Row[] {
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

function codecRows({ blockinessRatio, chromaBleedRatio, rimLightRatio }: Fidelity): Row[] {
	const rows: Row[] = [];
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
			'How much darker is the rim?',
			`${formatShare(rimLightRatio)} of the light in the middle`,
			'linear light, where the card reaches',
		]);
	return rows;
}

/** A stroke for each width, as wide as it is to the others; broken where it was not seen. */
function strokes(lines: Fidelity['lines']): SafePiece {
	if (lines.length === 0) return nothing;
	const widest = Math.max(...lines.map(({ width }) => width));
	const drawn = lines.map((line, i) => {
		const y = 16 + i * 22;
		const stroke = Math.max(1, (12 * line.width) / widest);
		const colour = line.chromaRatio === null ? '' : `, colour ${formatShare(line.chromaRatio)}`;
		const words = `${formatTrimmed(line.width)} ${line.unit} ${line.axis}: light ${formatShare(line.lumaRatio)}${colour} left`;
		return html`<path d="M0 ${y}H110" stroke="#242220" stroke-width="${stroke.toFixed(1)}" stroke-dasharray="${line.seenRatio > 0.5 ? 'none' : '3 9'}"/><text x="124" y="${y + 5}" font-size="13">${words}</text>`;
	});
	return html`<figure><svg role="img" aria-label="lines by width, broken where not seen" width="520" height="${lines.length * 22 + 16}">${joinHtml(drawn)}</svg><figcaption>Contrast left of lines by width. Broken: not seen in most pictures.</figcaption></figure>`;
}
