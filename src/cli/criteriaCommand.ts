/** `criteria`: the built-in sets with their reasoning, and any of them as a file to begin one's own from. */
import type { Command } from 'commander';
import { renderCriteriaFile, renderPresets } from '../report/criteriaText.ts';
import { criteriaFileJsonSchema } from '../verdict/parseCriteria.ts';
import { presets } from '../verdict/presets.ts';
import { terminal } from './printResult.ts';
import { WrongUsage } from './wrongUsage.ts';

export function addCriteriaCommand(program: Command): void {
	program
		.command('criteria')
		.description('tell the built-in criteria and why; print one as a file to change')
		.argument('[name]', `one of ${[...presets.keys()].join(', ')}: printed as a criteria file`)
		.option('--schema', 'print the JSON Schema of a criteria file')
		.action((name: string | undefined, options: { schema?: boolean }) => {
			if (options.schema === true)
				process.stdout.write(`${JSON.stringify(criteriaFileJsonSchema(), null, '\t')}\n`);
			else if (name === undefined) process.stdout.write(renderPresets(presets, terminal()));
			else process.stdout.write(renderCriteriaFile(presetOf(name)));
		});
}

function presetOf(name: string) {
	const preset = presets.get(name);
	if (preset === undefined)
		throw new WrongUsage(`no criteria are called ${name}: there are ${[...presets.keys()].join(', ')}`);
	return preset.criteria;
}
