/** `card`: draws one frame of a test card into a PNG, exactly as the sender and the pages draw it. */
import { writeFile } from 'node:fs/promises';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { encodePng } from '../media/node/png.ts';
import { CARD_SIZES, LAYOUTS } from '../pattern/card.ts';
import { parseCardSpec } from '../pattern/cardSpec.ts';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM } from '../pattern/detailCard.ts';
import { detailCardPdf } from '../pattern/detailPdf.ts';
import { drawDetailCard } from '../pattern/detailRaster.ts';
import { FRAME_NUMBERS } from '../pattern/frameCode.ts';
import { createCardPainter } from '../pattern/painter.ts';
import { WrongUsage } from './wrongUsage.ts';

type CardOptions = {
	readonly tick: number;
	readonly layout: string;
	readonly size: string;
	readonly difficulty: string;
	readonly seed: number;
	readonly out: string;
};

/** The printed card is a sheet, not a frame: it has a size in millimetres, no tick and no seed. */
const PRINTED = 'detail';
const PRINTED_PX_PER_MM = 24;

export function addCardCommand(program: Command): void {
	program
		.command('card')
		.description('draw one frame of a test card into a PNG file, or the printed card as PNG or PDF')
		.option('--tick <number>', 'frame number', wholeBelow(FRAME_NUMBERS), 0)
		.addOption(
			new Option('--layout <name>', `layout of the card; ${PRINTED}: colour and detail, for print`)
				.choices([...LAYOUTS, PRINTED])
				.default('link'),
		)
		.addOption(new Option('--size <size>', 'size in pixels').choices(CARD_SIZES).default('1280x720'))
		.addOption(new Option('--difficulty <name>', 'for a codec').choices(['easy', 'hard']).default('easy'))
		.option('--seed <number>', 'decides the noise and where the motion starts', wholeBelow(2 ** 32), 1)
		.option('--out <file>', `where to; .pdf for the ${PRINTED} card`, 'card.png')
		.action(async (options: CardOptions) => {
			const { bytes, what } = drawn(options);
			await writeFile(options.out, bytes).catch((cause) => {
				throw new OutsideFailure(
					'cannotWrite',
					`${options.out} could not be written.`,
					'Check the folder and the disk, or choose another place with --out.',
					{ cause },
				);
			});
			process.stderr.write(`${what}: ${options.out}\n`);
		});
}

function drawn(options: CardOptions): { bytes: Uint8Array | string; what: string } {
	const { layout, out, tick } = options;
	const asPdf = /\.pdf$/i.test(out);
	if (layout !== PRINTED) {
		if (asPdf)
			throw new WrongUsage(
				`only --layout ${PRINTED} is drawn as PDF; the ${layout} card is shown on a screen`,
			);
		const raster = createCardPainter(parseCardSpec(options)).paint(tick);
		return { bytes: encodePng(raster), what: `Frame ${tick} of the ${layout} card` };
	}
	const what = `The printed card of colour and detail, ${CARD_WIDTH_MM} mm x ${CARD_HEIGHT_MM} mm`;
	if (asPdf) return { bytes: detailCardPdf(), what: `${what}, to scale on A4` };
	return { bytes: encodePng(drawDetailCard(PRINTED_PX_PER_MM)), what: `${what}, ${PRINTED_PX_PER_MM} px/mm` };
}

/** Parser of a whole number from 0 up to, not including, `limit`. */
export function wholeBelow(limit: number): (word: string) => number {
	return (word) => {
		const value = Number(word);
		if (!Number.isInteger(value) || value < 0 || value >= limit)
			throw new InvalidArgumentError(`It is a whole number from 0 to ${limit - 1}.`);
		return value;
	};
}
