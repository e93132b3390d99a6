import { expect, test } from 'vitest';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM } from '../../src/pattern/detailCard.ts';
import { detailCardPdf } from '../../src/pattern/detailPdf.ts';
import { drawDetailCard } from '../../src/pattern/detailRaster.ts';

test('every object stands where the table of the PDF says, and the stream is as long as it says', () => {
	const pdf = detailCardPdf();
	expect(pdf).toMatch(/^%PDF-1\.4\n/);
	const table = Number(/startxref\n(\d+)/.exec(pdf)![1]);
	expect(pdf.slice(table, table + 4)).toBe('xref');
	const offsets = [...pdf.slice(table).matchAll(/^(\d{10}) 00000 n/gm)].map((row) => Number(row[1]));
	for (const [i, offset] of offsets.entries()) expect(pdf.slice(offset, offset + 7)).toBe(`${i + 1} 0 obj`);
	const [, length] = /\/Length (\d+)/.exec(pdf)!;
	const start = pdf.indexOf('stream\n') + 7;
	expect(pdf.slice(start + Number(length), start + Number(length) + 10)).toBe('\nendstream');
	// biome-ignore lint/suspicious/noControlCharactersInRegex: that there is none beyond ASCII is what is asked
	expect(pdf).toMatch(/^[\x00-\x7f]*$/);
});

test('the card is drawn 80 mm by 60 mm to scale, on the page as in pixels', () => {
	const corners = [
		...detailCardPdf().matchAll(/^1\.0000 1\.0000 1\.0000 rg ([\d.]+) ([\d.]+) m ([\d.]+)/gm),
	][0]!;
	expect(((Number(corners[3]) - Number(corners[1])) * 25.4) / 72).toBeCloseTo(CARD_WIDTH_MM, 3);
	const { widthPx, heightPx } = drawDetailCard(5);
	expect([widthPx, heightPx]).toEqual([5 * CARD_WIDTH_MM, 5 * CARD_HEIGHT_MM]);
	expect(() => drawDetailCard(1)).toThrow(RangeError);
});
