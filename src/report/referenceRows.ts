/** The run beside its reference run, as questions with plain answers and as exact pairs. Computes no figure. */
import type { AgainstReference } from '../metrics/pictureMetric.ts';
import type { FidelityRow } from './fidelityRow.ts';
import { formatNumber, formatShare } from './numbers.ts';

/** A camera this much slower in the dark was slowed by it; this project's choice, no source. */
const SLOWED = 0.95;

/** Whether the dim view slowed the camera; none where bright and dim were not both said. */
export function slowedRows(against: AgainstReference): FidelityRow[] {
	const { light, referenceLight, rows, runId } = against;
	const pictures = rows.find(({ name }) => name === 'pictures a second');
	if (pictures === undefined || light === null || referenceLight === null || light === referenceLight)
		return [];
	const [bright, dim] =
		light === 'dim' ? [pictures.reference, pictures.value] : [pictures.value, pictures.reference];
	const said = `${formatNumber(bright, 1)} pictures a second bright, ${formatNumber(dim, 1)} dim`;
	return [
		[
			'Does a dark view slow the camera?',
			dim < SLOWED * bright ? `yes: ${said}` : `no: ${said}`,
			`this run was ${light}, ${runId} ${referenceLight}, as the person said`,
		],
	];
}

/** Of one line's width or one grey: many, and for whoever looks for the cause. Named "which one: what". */
export function isOfOne([name]: FidelityRow): boolean {
	return name.includes(':');
}

/** Every measure that both hold. */
export function referenceRows({ rows }: AgainstReference): FidelityRow[] {
	return rows.map(({ name, unit, value, reference, ratio }) => [
		name,
		ratio === null ? noShare(value, reference) : formatShare(ratio),
		`${digits(value)} against ${digits(reference)}${unit === '' ? '' : ` ${unit}`}`,
	]);
}

function noShare(value: number, reference: number): string {
	if (value * reference < 0) return 'the other way';
	return value === 0 ? 'both 0' : 'too small';
}

function digits(value: number): string {
	if (Number.isInteger(value)) return formatNumber(value);
	const size = Math.abs(value);
	return formatNumber(value, size >= 100 ? 0 : size >= 10 ? 1 : size >= 0.01 ? 3 : 5);
}

export function referenceName({ subject, runId, place, startedAt }: AgainstReference): string {
	return `${subject} (${runId}, ${startedAt.slice(0, 10)}${place === null ? '' : `, ${place}`})`;
}
