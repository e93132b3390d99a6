/** How the scope sees and lights the card: bands, field, bend, rim, bright and dim, as questions with plain answers. Computes no figure. */
import type { Fidelity, SeenByLight } from '../metrics/pictureMetric.ts';
import type { FidelityRow } from './fidelityRow.ts';
import { formatNumber, formatShare, formatTrimmed } from './numbers.ts';

/** Of the middle grey's own light: a flicker of less is hardly seen; this project's choice, no source. */
const SEEN_FLICKER = 0.01;

/** Of several pictures of one scene only. */
export function flickerRows({ noise }: Fidelity): FidelityRow[] {
	const middle = noise[noise.length >> 1];
	if (middle?.bandingRowsRatio === undefined || middle.bandingColumnsRatio === undefined) return [];
	const { bandingRowsRatio: rows, bandingColumnsRatio: columns, meanRatio } = middle;
	const worst = Math.max(rows, columns);
	const wavering = middle.waveringRatio ?? 0;
	const banded = worst > SEEN_FLICKER * meanRatio;
	const wavers = wavering > SEEN_FLICKER * meanRatio;
	return [
		[
			'Do bands or the whole light flicker?',
			banded
				? `yes, ${rows >= columns ? 'bands across' : 'bands from top to bottom'}: a lamp or a screen beats against the shutter`
				: wavers
					? 'the whole picture gets lighter and darker: lamp or exposure wavers'
					: 'no',
			`${middle.patch}: rows together ${formatShare(rows / meanRatio)}, columns ${formatShare(columns / meanRatio)}, all of it ${formatShare(wavering / meanRatio)} of its own light, standard deviation from picture to picture`,
		],
	];
}

export function viewRows({ view, centreAndEdge }: Fidelity): FidelityRow[] {
	const rows: FidelityRow[] = [];
	if (view !== undefined) {
		const { widthMm, bendRatio, pxPerMm } = view;
		const bend =
			Math.abs(bendRatio) < 0.01
				? 'straight lines stay straight'
				: `straight lines bend ${bendRatio < 0 ? 'outwards, as a barrel' : 'inwards, as a cushion'}: ${formatShare(Math.abs(bendRatio))} at the corner`;
		rows.push([
			'How much is in view, and is it bent?',
			widthMm === null ? bend : `${formatNumber(widthMm)} mm across the picture; ${bend}`,
			`radial term k1 ${formatNumber(bendRatio, 3)} of the way from middle to corner; ${formatNumber(pxPerMm, 1)} px to a millimetre of the card. An angle needs two distances`,
		]);
	}
	if (centreAndEdge !== undefined) rows.push(edgeRow(centreAndEdge));
	return rows;
}

function edgeRow(seen: NonNullable<Fidelity['centreAndEdge']>): FidelityRow {
	const printed = 'nearMtf50CyPerMm' in seen;
	const [near, far, unit] = printed
		? [formatNumber(seen.nearMtf50CyPerMm, 2), formatNumber(seen.farMtf50CyPerMm, 2), 'millimetre']
		: [formatNumber(seen.nearMtf50CyPx, 3), formatNumber(seen.farMtf50CyPx, 3), 'pixel'];
	const beyond = printed ? '; lay the card into a corner for another still to tell the corner itself' : '';
	return [
		'Is it as sharp towards the edge?',
		`${formatShare(seen.keptRatio)} of the detail nearer the middle`,
		`MTF50 ${near} at ${formatShare(seen.nearRatio)} and ${far} cycles a ${unit} at ${formatShare(seen.farRatio)} of the way from middle to corner${beyond}`,
	];
}

export function lightRows({ byLight = [] }: Fidelity): FidelityRow[] {
	const bright = byLight.find(({ light }) => light === 'bright');
	return byLight.map((seen): FidelityRow => {
		const beside = seen.light === 'dim' && bright !== undefined ? dimWords(bright, seen) : '';
		const grey =
			seen.greyRatio === null
				? 'grey not read'
				: `its middle grey at ${formatShare(seen.greyRatio)} of white`;
		return [
			seen.light === 'bright' ? 'In a bright view?' : 'And in a dim one?',
			beside === '' ? grey : `${grey}; ${beside}`,
			`MTF50 ${seen.mtf50CyPx === null ? 'not read' : `${formatNumber(seen.mtf50CyPx, 3)} cycles a pixel`}, signal to noise ${seen.signalToNoiseRatio === null ? 'without noise' : formatNumber(seen.signalToNoiseRatio, 1)}; ${formatTrimmed(seen.pictureCount)} pictures`,
		];
	});
}

function dimWords(bright: SeenByLight, dim: SeenByLight): string {
	const share = (of: number | null, whole: number | null): string | null =>
		of === null || whole === null || whole === 0 ? null : formatShare(of / whole);
	const detail = share(dim.mtf50CyPx, bright.mtf50CyPx);
	const signal = share(dim.signalToNoiseRatio, bright.signalToNoiseRatio);
	return [
		detail === null ? null : `${detail} of the bright view’s detail`,
		signal === null ? null : `${signal} of its signal over noise`,
	]
		.filter((words) => words !== null)
		.join(', ');
}
