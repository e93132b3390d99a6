/** `card`: draws one frame of a test card into a PNG, exactly as the sender and the pages draw it. */
import { writeFile } from 'node:fs/promises';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { encodePng } from '../media/node/png.ts';
import { CARD_SIZES, LAYOUTS } from '../pattern/card.ts';
import { parseCardSpec } from '../pattern/cardSpec.ts';
import { FRAME_NUMBERS } from '../pattern/frameCode.ts';
import { createCardPainter } from '../pattern/painter.ts';

type CardOptions = {
	readonly tick: number;
	readonly layout: string;
	readonly size: string;
	readonly difficulty: string;
	readonly seed: number;
	readonly out: string;
};

export function addCardCommand(program: Command): void {
	program
		.command('card')
		.description('draw one frame of a test card into a PNG file')
		.option('--tick <number>', 'frame number', wholeBelow(FRAME_NUMBERS), 0)
		.addOption(new Option('--layout <name>', 'layout of the card').choices(LAYOUTS).default('link'))
		.addOption(new Option('--size <size>', 'size in pixels').choices(CARD_SIZES).default('1280x720'))
		.addOption(new Option('--difficulty <name>', 'for a codec').choices(['easy', 'hard']).default('easy'))
		.option('--seed <number>', 'decides the noise and where the motion starts', wholeBelow(2 ** 32), 1)
		.option('--out <file>', 'where to', 'card.png')
		.action(async (options: CardOptions) => {
			const raster = createCardPainter(parseCardSpec(options)).paint(options.tick);
			await writeFile(options.out, encodePng(raster)).catch((cause) => {
				throw new OutsideFailure(
					'cannotWrite',
					`${options.out} could not be written.`,
					'Check the folder and the disk, or choose another place with --out.',
					{ cause },
				);
			});
			process.stderr.write(`Frame ${options.tick} of the ${options.layout} card: ${options.out}\n`);
		});
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
