/** `hand`: what a kept run's delay costs the hand, for tip speeds of one's own. Explains, decides nothing. */
import { type Command, InvalidArgumentError } from 'commander';
import { runDelay } from '../register/runDelay.ts';
import { HAND_SOURCE, renderHand } from '../report/handWords.ts';
import { checkHandChoice, handRows, USUAL_HAND } from '../verdict/handCost.ts';
import { terminal } from './printResult.ts';
import { WrongUsage } from './wrongUsage.ts';

type HandOptions = { readonly tip: readonly number[]; readonly bits: number; readonly json?: boolean };

export function addHandCommand(program: Command): void {
	program
		.command('hand')
		.description("tell what a kept run's delay costs the hand; explains, decides nothing")
		.argument('<folder>', 'folder of the run')
		.option('--tip <mm/s,…>', 'how fast the tip goes, one to six speeds', speeds, [
			...USUAL_HAND.tipSpeedsMmPerS,
		])
		.option(
			'--bits <number>',
			'how hard the reach is, log2(way / width + 1)',
			Number,
			USUAL_HAND.difficultyBits,
		)
		.option('--json', 'print one JSON document and nothing else')
		.action(hand);
}

async function hand(folder: string, { tip, bits, json }: HandOptions): Promise<void> {
	const choice = { difficultyBits: bits, tipSpeedsMmPerS: tip };
	try {
		checkHandChoice(choice);
	} catch (mistake) {
		throw new WrongUsage((mistake as Error).message);
	}
	const { runId, delay, linkOnly } = await runDelay(folder);
	if (json === true) {
		const document = { runId, explanation: HAND_SOURCE, ...choice, linkOnly, rows: handRows(delay, choice) };
		process.stdout.write(`${JSON.stringify(document, null, '\t')}\n`);
	} else process.stdout.write(renderHand({ delay, choice, linkOnly }, terminal()));
}

function speeds(words: string): number[] {
	const list = words.split(',').map(Number);
	if (list.every((speed) => Number.isFinite(speed))) return list;
	throw new InvalidArgumentError('Write numbers with commas between, as 10,20,50.');
}
