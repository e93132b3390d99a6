/** `card`: draws one frame of a test card into a PNG, exactly as the sender and the pages draw it; or a clip, one frame a picture. */
import { writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { CLIP_CODECS, type ClipCodec } from '../media/node/clipWriter.ts';
import { encodePng } from '../media/node/png.ts';
import { CARD_SIZES, DIFFICULTIES, LAYOUTS } from '../pattern/card.ts';
import { parseCardSpec } from '../pattern/cardSpec.ts';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM } from '../pattern/detailCard.ts';
import { detailCardPdf } from '../pattern/detailPdf.ts';
import { drawDetailCard } from '../pattern/detailRaster.ts';
import { FRAME_NUMBERS } from '../pattern/frameCode.ts';
import { createCardPainter } from '../pattern/painter.ts';
import { writeCardClip } from './cardClip.ts';
import { serveCard } from './cardServe.ts';
import { WrongUsage } from './wrongUsage.ts';

type CardOptions = {
	readonly tick: number;
	readonly layout: string;
	readonly size: string;
	readonly difficulty: string;
	readonly seed: number;
	readonly seconds?: number;
	readonly rate: number;
	readonly codec: ClipCodec;
	readonly out: string;
	readonly serve?: boolean;
	readonly port: number;
};

/** The printed card is a sheet, not a frame: it has a size in millimetres, no tick and no seed. */
const PRINTED = 'detail';
const PRINTED_PX_PER_MM = 24;

export function addCardCommand(program: Command): void {
	program
		.command('card')
		.description(
			'draw one frame of a test card into a PNG file, a clip of it, or the printed card as PNG or PDF',
		)
		.option('--tick <number>', 'frame number', wholeBelow(FRAME_NUMBERS), 0)
		.addOption(
			new Option('--layout <name>', `layout of the card; ${PRINTED}: colour and detail, for print`)
				.choices([...LAYOUTS, PRINTED])
				.default('link'),
		)
		.addOption(new Option('--size <size>', 'size in pixels').choices(CARD_SIZES).default('1280x720'))
		.addOption(
			new Option(
				'--difficulty <name>',
				'moving part: easy or hard for a codec, or motion: edges at stated speeds and a pulse',
			)
				.choices(DIFFICULTIES)
				.default('easy'),
		)
		.option('--seed <number>', 'decides the noise and where the motion starts', wholeBelow(2 ** 32), 1)
		.option('--seconds <number>', 'write a clip so long instead of one frame', between(0.1, 3600))
		.option('--rate <per second>', 'of a clip: frames of the card a second', between(1, 240), 60)
		.addOption(new Option('--codec <name>', 'of a clip').choices(CLIP_CODECS).default('h264'))
		.option('--out <file>', `where to; .mp4 or .mkv for a clip; .pdf for the ${PRINTED} card`, 'card.png')
		.option('--serve', 'show the card for the scope in a browser on this computer')
		.option('--port <number>', 'where --serve listens; 0: any free one', wholeBelow(65_536), 0)
		.action(async (options: CardOptions) => {
			if (options.serve === true) {
				await serve(options.port);
				return;
			}
			if (options.seconds !== undefined) {
				process.stderr.write(`${await clipOf(options, options.seconds)}: ${options.out}\n`);
				return;
			}
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

/** Until Ctrl-C. */
async function serve(port: number): Promise<void> {
	const { url, close } = await serveCard(port, fileURLToPath(new URL('../pages', import.meta.url)));
	process.stdout.write(`${url}\n`);
	process.stderr.write('Open this in a browser on this computer; Ctrl-C ends it.\n');
	process.once('SIGINT', close);
}

async function clipOf(options: CardOptions, seconds: number): Promise<string> {
	const { layout, out, tick, rate, codec } = options;
	if (layout === PRINTED)
		throw new WrongUsage(`the ${PRINTED} card is printed and does not move: no clip of it`);
	if (!/\.(mp4|mov|mkv)$/i.test(out))
		throw new WrongUsage(`a clip is written as .mp4, .mov or .mkv, not as ${out}: name it with --out`);
	return await writeCardClip({ card: parseCardSpec(options), tick, seconds, rateHz: rate, codec, out });
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

/** Parser of a number in a range, ends included. */
export function between(least: number, most: number): (word: string) => number {
	return (word) => {
		const value = Number(word);
		if (!Number.isFinite(value) || value < least || value > most)
			throw new InvalidArgumentError(`It is a number from ${least} to ${most}.`);
		return value;
	};
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
