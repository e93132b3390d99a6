/**
 * The printed card as a PDF of one A4 page, to scale: shapes, a ruler to check the scale by, and what to do, in the one font
 * that every reader of PDF has. A minimal writer of our own: five objects, nothing compressed.
 *
 * Source: PDF 1.4 operators (from memory): `rg` fill colour, `m l c h f` path, `BT Tf Td Tj ET` text. Points are 1/72 inch.
 */
import type { Rgb } from '../colour/rgb.ts';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM, detailShapes, type Shape } from './detailCard.ts';

const MM = 72 / 25.4;
const PAGE_WIDTH_MM = 210;
const PAGE_HEIGHT_MM = 297;
/** Upper left corner of the card on the page. */
const LEFT_MM = (PAGE_WIDTH_MM - CARD_WIDTH_MM) / 2;
const TOP_MM = 60;
const RULER_MM = 50;

const WORDS = [
	'steerworthy: card of colour and detail, 80 mm x 60 mm. Print at 100 % (no "fit to page"), best quality, matt paper.',
	'Check with a ruler: the bar below is 50 mm long. If it is not, the card is of no use for sizes.',
	'Cut out, lay flat, light it with the scope alone. The whole card must be in view. No lens on paper; the lamp is hot.',
	'Two prints differ: compare kits on this same sheet. Write the printer, the paper and the date here:',
];

/** ASCII text of the file. */
export function detailCardPdf(): string {
	const content = [
		...detailShapes().map(shapePath),
		...cutMarks(),
		rectangle({ xMm: LEFT_MM, yMm: TOP_MM + CARD_HEIGHT_MM + 20, widthMm: RULER_MM, heightMm: 2 }),
		...WORDS.map((words, i) => text(words, { xMm: 20, yMm: 25 + 6 * i })),
	].join('\n');
	return assemble([
		'<< /Type /Catalog /Pages 2 0 R >>',
		'<< /Type /Pages /Kids [3 0 R] /Count 1 >>',
		`<< /Type /Page /Parent 2 0 R /MediaBox [0 0 ${points(PAGE_WIDTH_MM)} ${points(PAGE_HEIGHT_MM)}] /Contents 4 0 R /Resources << /Font << /F1 5 0 R >> >> >>`,
		`<< /Length ${content.length} >>\nstream\n${content}\nendstream`,
		'<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>',
	]);
}

function assemble(objects: readonly string[]): string {
	let file = '%PDF-1.4\n';
	const offsets = objects.map((object, i) => {
		const offset = file.length;
		file += `${i + 1} 0 obj\n${object}\nendobj\n`;
		return offset;
	});
	const rows = offsets.map((offset) => `${String(offset).padStart(10, '0')} 00000 n \n`).join('');
	return `${file}xref\n0 ${objects.length + 1}\n0000000000 65535 f \n${rows}trailer\n<< /Size ${objects.length + 1} /Root 1 0 R >>\nstartxref\n${file.length}\n%%EOF\n`;
}

function points(mm: number): string {
	return (mm * MM).toFixed(3);
}

function place(xMm: number, yMm: number): string {
	return `${points(LEFT_MM + xMm)} ${points(PAGE_HEIGHT_MM - TOP_MM - yMm)}`;
}

function fill([red, green, blue]: Rgb): string {
	return `${[red, green, blue].map((code) => (code / 255).toFixed(4)).join(' ')} rg`;
}

/** Of a quarter circle by one cubic: good to 0.03 % of the radius. */
const ARC = 0.5522847498;

function shapePath(shape: Shape): string {
	if (shape.kind === 'polygon') {
		const [first, ...others] = shape.corners.map(({ x, y }) => place(x, y));
		return `${fill(shape.rgb)} ${first} m ${others.map((point) => `${point} l`).join(' ')} h f`;
	}
	const { centre, radius, rgb } = shape;
	const at = (u: number, v: number): string => place(centre.x + u * radius, centre.y + v * radius);
	const arcs = [0, 1, 2, 3].map((quarter) => {
		const cosine = [1, 0, -1, 0][quarter]!;
		const sine = [0, 1, 0, -1][quarter]!;
		const from = [cosine - ARC * sine, sine + ARC * cosine] as const;
		const to = [-sine + ARC * cosine, cosine + ARC * sine] as const;
		return `${at(...from)} ${at(...to)} ${at(-sine, cosine)} c`;
	});
	return `${fill(rgb)} ${at(1, 0)} m ${arcs.join(' ')} h f`;
}

/** Short strokes outside the corners, to cut by. */
function cutMarks(): string[] {
	return [0, CARD_WIDTH_MM].flatMap((x) =>
		[0, CARD_HEIGHT_MM].flatMap((y) => {
			const outX = x === 0 ? -1 : 1;
			const outY = y === 0 ? -1 : 1;
			return [
				`0.5 G 0.3 w ${place(x + 1 * outX, y)} m ${place(x + 5 * outX, y)} l S`,
				`0.5 G 0.3 w ${place(x, y + 1 * outY)} m ${place(x, y + 5 * outY)} l S`,
			];
		}),
	);
}

type PageBox = {
	readonly xMm: number;
	readonly yMm: number;
	readonly widthMm: number;
	readonly heightMm: number;
};

function rectangle({ xMm, yMm, widthMm, heightMm }: PageBox): string {
	return `0 0 0 rg ${points(xMm)} ${points(PAGE_HEIGHT_MM - yMm - heightMm)} ${points(widthMm)} ${points(heightMm)} re f`;
}

function text(words: string, { xMm, yMm }: { xMm: number; yMm: number }): string {
	const escaped = words.replace(/[\\()]/g, (sign) => `\\${sign}`);
	return `0 0 0 rg BT /F1 8 Tf ${points(xMm)} ${points(PAGE_HEIGHT_MM - yMm)} Td (${escaped}) Tj ET`;
}
