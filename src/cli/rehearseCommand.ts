/** `rehearse`: the whole bench shown on three invented kits and a closed one that is filmed, each reading beside known truth. Needs no tablet. */
import type { Command } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { type InventedKit, inventedKits } from '../simulation/inventedKits.ts';
import { EXIT } from './exitCodes.ts';
import { show } from './linkCommand.ts';
import {
	describeOptical,
	introduceOptical,
	type OpticalRehearsal,
	rehearseOptical,
} from './opticalRehearsal.ts';
import { openProgress, type Progress } from './progressBar.ts';
import { type FullRun, runFullLength, runLeg } from './rehearsal.ts';
import { type Agreement, describeFull, describeLeg, introduce, judgeLeg, opening } from './rehearsalText.ts';
import { newRunName } from './runName.ts';
import { RUNS_FOLDER } from './runsCommand.ts';

type RehearseOptions = { readonly out: string; readonly json?: boolean; readonly realLegs: boolean };
type KitOutcome = { readonly kit: InventedKit; readonly leg: Agreement | null; readonly full: FullRun };
type Told = { readonly progress: Progress; readonly say: (text: string) => void };

export function addRehearseCommand(program: Command): void {
	program
		.command('rehearse')
		.description('judge invented kits beside known truth; needs no tablet')
		.option('--out <folder>', 'where runs are kept', RUNS_FOLDER)
		.option('--no-real-legs', 'leave out the legs with real codec and sockets')
		.option('--json', 'print one JSON document and nothing else')
		.action(async (options: RehearseOptions) => {
			process.exitCode = await rehearse(options);
		});
}

async function rehearse(options: RehearseOptions): Promise<number> {
	const progress = openProgress(process.stderr);
	const say = (text: string): void => {
		progress.end();
		if (options.json !== true) process.stdout.write(text);
	};
	const stamp = newRunName('rehearse');
	const outcomes: KitOutcome[] = [];
	say(opening());
	for (const kit of inventedKits) {
		say(introduce(kit));
		const leg = options.realLegs ? await tryLeg(kit, { progress, say }) : null;
		progress.show(0, `${kit.name}: five minutes in virtual time`);
		const full = await runFullLength(kit, { root: options.out, name: `${stamp}-${kit.key}` });
		say(describeFull(kit, full));
		outcomes.push({ kit, leg, full });
	}
	say(introduceOptical());
	progress.show(0, 'the closed kit: four films as signals');
	const closed = await rehearseOptical(options.out, `${stamp}-wren`);
	say(describeOptical(closed));
	if (options.json === true)
		process.stdout.write(`${JSON.stringify([...outcomes.map(plain), plainOptical(closed)], null, '\t')}\n`);
	return outcomes.every(isTrue) && isTrueOptical(closed) ? EXIT.completed : EXIT.rigFailed;
}

/** A real leg, or null with the reason said: a rehearsal goes on without its real legs. */
async function tryLeg(kit: InventedKit, { progress, say }: Told): Promise<Agreement | null> {
	try {
		const leg = await runLeg(kit, (step) => show(progress, step));
		if (leg === null) {
			say('  Real leg: this computer was too busy for a reading. The rest goes on.\n\n');
			return null;
		}
		const agreement = judgeLeg(leg);
		say(describeLeg(agreement));
		return agreement;
	} catch (failure) {
		if (!(failure instanceof OutsideFailure)) throw failure;
		say(`  No real leg. ${failure.message}\n  ${failure.advice}\n  The rest goes on without it.\n\n`);
		return null;
	}
}

/** Whether the bench told the truth: every reading within its uncertainty, every answer as deserved. */
function isTrue({ kit, leg, full }: KitOutcome): boolean {
	const { steer, record } = full.result.verdict;
	const legHolds = leg === null || (leg.delayAgrees && leg.ledgerAgrees);
	return legHolds && steer === kit.truth.steer && record === kit.truth.record;
}

function isTrueOptical({ result: { verdict }, agrees, deserved }: OpticalRehearsal): boolean {
	return agrees && verdict.steer === deserved.steer && verdict.record === deserved.record;
}

function plainOptical({ folder, result, truth, deserved }: OpticalRehearsal): Record<string, unknown> {
	return { kit: result.run.kit, realLeg: null, folder, verdict: result.verdict, deserved, truth };
}

function plain({ kit, leg, full }: KitOutcome): Record<string, unknown> {
	const { folder, result, truth } = full;
	const deserved = { steer: kit.truth.steer, record: kit.truth.record };
	return { kit: kit.name, realLeg: leg, folder, verdict: result.verdict, deserved, truth };
}
