/** `rehearse`: the whole bench shown on three invented kits, each reading beside known truth. Needs no tablet. */
import type { Command } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { stillAir } from '../simulation/airSpec.ts';
import { inventedKits } from '../simulation/inventedKits.ts';
import { EXIT } from './exitCodes.ts';
import { show } from './linkCommand.ts';
import { openProgress, type Progress } from './progressBar.ts';
import { type FullRun, type Leg, legOf, runFullLength, runLeg } from './rehearsal.ts';
import { type Agreement, describeFull, describeLeg, judgeLeg, opening } from './rehearsalText.ts';
import { newRunName } from './runName.ts';
import { RUNS_FOLDER } from './runsCommand.ts';

type RehearseOptions = { readonly out: string; readonly json?: boolean; readonly realLegs: boolean };
type KitOutcome = { readonly key: string; readonly leg: Agreement | null; readonly full: FullRun };

export function addRehearseCommand(program: Command): void {
	program
		.command('rehearse')
		.description('judge three invented kits beside known truth; needs no tablet')
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
	say(opening());
	const floor = options.realLegs
		? await tryLeg({ key: 'floor', air: stillAir, pictureLoss: null }, { progress, say })
		: null;
	const outcomes: KitOutcome[] = [];
	for (const kit of inventedKits) {
		const leg = floor === null ? null : await tryLeg(legOf(kit), { progress, say });
		const agreement = leg === null || floor === null ? null : judgeLeg(leg, floor);
		progress.show(0, `${kit.name}: running five minutes in virtual time`);
		const full = await runFullLength(kit, { root: options.out, name: `${stamp}-${kit.key}` });
		say(describeLeg(kit, agreement, floor !== null));
		say(describeFull(kit, full));
		outcomes.push({ key: kit.key, leg: agreement, full });
	}
	if (options.json === true) process.stdout.write(`${JSON.stringify(outcomes.map(plain), null, '\t')}\n`);
	return outcomes.every(isTrue) ? EXIT.completed : EXIT.rigFailed;
}

type Told = { readonly progress: Progress; readonly say: (text: string) => void };

/** A real leg, or null with the reason said: a rehearsal goes on without its real legs. */
async function tryLeg(leg: Parameters<typeof runLeg>[0], { progress, say }: Told): Promise<Leg | null> {
	try {
		const read = await runLeg(leg, (step) => show(progress, step));
		if (read === null)
			say('This computer was too busy for a real leg: it got no reading. The rest goes on.\n\n');
		return read;
	} catch (failure) {
		if (!(failure instanceof OutsideFailure)) throw failure;
		say(`No real leg: ${failure.message} ${failure.advice}\nThe rest goes on without it.\n\n`);
		return null;
	}
}

/** Whether the bench told the truth: the answers deserved, and each leg's reading within its uncertainty unless the machine was busy. */
function isTrue({ key, leg, full }: KitOutcome): boolean {
	const truth = inventedKits.find((kit) => kit.key === key)?.truth;
	const { steer, record } = full.result.verdict;
	const legHolds = leg === null || leg.tooBusy || (leg.delayAgrees && leg.ledgerAgrees);
	return legHolds && steer === truth?.steer && record === truth?.record;
}

function plain({ key, leg, full }: KitOutcome): Record<string, unknown> {
	return { key, realLeg: leg, folder: full.folder, verdict: full.result.verdict, truth: full.truth };
}
