/** `here`: may this kit be steered by at this place? From the kit's films, the link here and the link at home. */
import { writeFile } from 'node:fs/promises';
import { type Command, Option } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { renderKitHerePage } from '../report/kitHereHtml.ts';
import { kitHereSections, kitHereSubject, type ToldHere } from '../report/kitHereWords.ts';
import { cleanText, framed } from '../report/textLayout.ts';
import { sectionText } from '../report/yardText.ts';
import { roundFigures } from '../verdict/rounding.ts';
import { readCriteria } from './criteriaFile.ts';
import { exitCodeFor } from './exitCodes.ts';
import { kitHereOf, type ThreeFolders } from './kitHere.ts';
import { terminal } from './printResult.ts';
import { openProgress } from './progressBar.ts';
import { TOOL_VERSION } from './version.ts';

type HereOptions = ThreeFolders & {
	readonly criteria?: string;
	readonly html?: string;
	readonly json?: boolean;
	readonly require?: 'steering';
};

export function addHereCommand(program: Command): void {
	program
		.command('here')
		.description(
			'may this kit be steered by at this place: from its films, the link here, and the link at home',
		)
		.requiredOption('--kit <run>', 'the kit through its own lens, as `optical` kept it')
		.requiredOption('--link <run>', 'a link run made here with the tablet')
		.requiredOption('--home <run>', 'a link run made at home with the same tablet and settings')
		.option('--criteria <name or file>', 'judge by strict, standard or gentle, or by this criteria file')
		.option('--html <file>', 'write it as a page to show on the tablet or to print')
		.option('--json', 'print one JSON document and nothing else on stdout')
		.addOption(new Option('--require <answer>', 'exit 0 only if this answer is yes').choices(['steering']))
		.action(async (options: HereOptions) => {
			process.exitCode = await here(options);
		});
}

async function here(options: HereOptions): Promise<number> {
	const progress = openProgress(process.stderr);
	const found = await kitHereOf(options, await readCriteria(options.criteria), progress).finally(() =>
		progress.end(),
	);
	if (options.html !== undefined) await writePage(options.html, found);
	process.stdout.write(
		options.json === true ? `${JSON.stringify(roundFigures(found), null, '\t')}\n` : kitHereText(found),
	);
	return exitCodeFor(options.require === 'steering' ? found.steer : null);
}

async function writePage(file: string, found: ToldHere): Promise<void> {
	try {
		await writeFile(file, renderKitHerePage(found, TOOL_VERSION));
	} catch (cause) {
		throw new OutsideFailure(
			'cannotWrite',
			`${file} could not be written.`,
			'Is its folder there, and may you write in it?',
			{
				cause,
			},
		);
	}
}

function kitHereText(found: ToldHere): string {
	const page = terminal();
	const headline = found.headline.charAt(0).toUpperCase() + found.headline.slice(1);
	const lines = [kitHereSubject(found), '', headline, '', found.order].map((text) =>
		cleanText(text, page.glyphs),
	);
	const sections = kitHereSections(found).map((section) => sectionText(section, page));
	return `${framed(lines, found.fitness, page).join('\n')}\n${sections.join('')}`;
}
