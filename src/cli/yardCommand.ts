/** `yard`: which place, what disturbs the air, and may I steer; in the terminal, step by step. */

import { networkInterfaces } from 'node:os';
import { join } from 'node:path';
import { createInterface, type Interface } from 'node:readline';
import { type Command, Option } from 'commander';
import { networkWays } from '../console/networkChoice.ts';
import { OutsideFailure } from '../failure.ts';
import { measureEndurance } from '../metrics/endurance.ts';
import { candidateCauses } from '../metrics/repeatCauses.ts';
import { readRunFolder, writeRunFile } from '../register/runFolder.ts';
import { openYard, saveYard, YARD_PAGE, yardFolder } from '../register/yardFolder.ts';
import { enduranceSections } from '../report/enduranceWords.ts';
import { repeatWords } from '../report/repeatWords.ts';
import { renderYardPage } from '../report/yardHtml.ts';
import { backToKitText, paragraphText, sectionText } from '../report/yardText.ts';
import { airWords, WIFI_WORDS } from '../report/yardWords.ts';
import { lookAtAir } from '../rigs/air/lookAtAir.ts';
import { standardCriteria } from '../verdict/criteria.ts';
import { applyAct, renamePlace, takenUp } from '../verdict/yardActs.ts';
import { WIFI, type Wifi, type YardSession } from '../verdict/yardSession.ts';
import { between, wholeBelow } from './cardCommand.ts';
import { judgeFolder } from './conclude.ts';
import { EXIT } from './exitCodes.ts';
import { readAir } from './linkCommand.ts';
import { terminal } from './printResult.ts';
import { newRunName } from './runName.ts';
import { RUNS_FOLDER } from './runsCommand.ts';
import { TOOL_VERSION } from './version.ts';
import { WrongUsage } from './wrongUsage.ts';
import { answerOf, walkYard, type YardDoors } from './yardCheck.ts';
import { airReading, measureYardRun, readingOf } from './yardRun.ts';

type YardOptions = {
	readonly name?: string;
	readonly minutes?: number;
	readonly wifi?: Wifi;
	readonly place: readonly string[];
	readonly channel?: string;
	readonly rename?: string;
	readonly home?: string;
	readonly overTime?: string;
	readonly tablet: 'none' | 'browser' | 'page';
	readonly host?: string;
	readonly port: number;
	readonly air?: string;
	readonly transport: 'websocket' | 'webrtc';
	readonly probe: number | false;
	readonly seconds?: number;
	readonly yes?: boolean;
	readonly out: string;
	readonly json?: boolean;
};

export function addYardCommand(program: Command): void {
	program
		.command('yard')
		.description('before sedation: which place, what disturbs the air, may I steer; asks step by step')
		.option('--name <text>', 'name of this check; a name used before goes on where it was left')
		.option('--minutes <number>', 'how long you have got', between(1, 480))
		.addOption(new Option('--wifi <whose>', 'whose Wi-Fi it is').choices(WIFI))
		.option('--place <"name, 4 m, 1.2 m">', 'a place; once for each', collect, [])
		.option('--channel <6 or 36@80>', 'of the Wi-Fi')
		.option('--rename <old=new>', 'put a wrong name of a place right')
		.option('--home <run folder>', "this tablet's reading at home, to stand beside")
		.option('--over-time <run folder>', 'instead: what changed in a long run, and where it broke')
		.addOption(
			new Option(
				'--tablet <viewer>',
				'page: a tablet opens the address shown; browser: on this computer; none: a reader on this computer',
			)
				.choices(['none', 'browser', 'page'])
				.default('page'),
		)
		.option('--host <address>', "this computer's address on the Wi-Fi, where it has more than one")
		.option('--port <number>', 'port of the page, 0 for any', wholeBelow(65_536), 0)
		.addOption(
			new Option('--transport <name>', 'how the picture travels: over TCP, or over UDP as kits do')
				.choices(['websocket', 'webrtc'])
				.default('websocket'),
		)
		.option('--probe <per second>', 'small packets beside the picture, each way', between(100, 250), 100)
		.option('--no-probe', 'the pictures alone tell of the air')
		.option('--air <name or file>', 'simulated air, to try the check out')
		.option('--seconds <number>', 'shorter runs, to try the check out: they can only say no', between(5, 620))
		.option('--yes', 'do not wait before a run')
		.option('--out <folder>', 'where runs are kept', RUNS_FOLDER)
		.option('--json', 'print the check as one JSON document')
		.action(async (options: YardOptions) => {
			process.exitCode =
				options.overTime === undefined ? await yard(options) : await tellOverTime(options.overTime);
		});
}

function collect(value: string, before: readonly string[]): readonly string[] {
	return [...before, value];
}

async function yard(options: YardOptions): Promise<number> {
	const name = newRunName('yard', options.name);
	const begun = begin(openYard(options.out, name, new Date().toISOString()), options);
	const asked = options.home === undefined ? begun : { ...begun, home: await homeReading(options.home) };
	const air = options.air === undefined ? null : await readAir(options.air);
	const host = hostOf(options);
	const stop = new AbortController();
	const asker = openAsker();
	const onInterrupt = (): void => {
		stop.abort();
		asker.end();
	};
	process.on('SIGINT', onInterrupt);
	let session = asked;
	const out = options.json === true ? process.stderr : process.stdout;
	const page = terminal();
	const doors: YardDoors = {
		ask: (question) => asker.ask(paragraphText(question, page)),
		tell: (section) => out.write(sectionText(section, page)),
		measure: (what) =>
			measureYardRun(
				what,
				{
					...{ tablet: options.tablet, host, port: options.port, air, out: options.out },
					probePerSecond: options.probe === false ? null : options.probe,
					webrtc: options.transport === 'webrtc' ? { codec: 'VP8', pinned: false } : null,
					...{ joined: WIFI_WORDS[session.wifi ?? 'kit'], seconds: options.seconds ?? null },
				},
				stop.signal,
			),
		isStopped: () => stop.signal.aborted,
		keep: (now) => {
			session = now;
			return saveYard(options.out, now);
		},
		air: () => lookAtAir(),
		typedChannel: options.channel ?? null,
		isHurried: options.yes === true,
	};
	let code: number = EXIT.completed;
	try {
		await walkYard(asked, doors);
	} catch (failure) {
		code = EXIT.rigFailed;
		out.write(sectionText({ title: 'It ended here', items: failureWords(failure, name) }, page));
		for (const section of answerOf(session)) out.write(sectionText(section, page));
	} finally {
		asker.end();
		process.off('SIGINT', onInterrupt);
	}
	out.write(`${paragraphText(await pageWords(session, options.out), page)}\n\n`);
	// Whatever ended it: the last screen.
	out.write(backToKitText(page));
	if (options.json === true) process.stdout.write(`${JSON.stringify(session, null, '\t')}\n`);
	return code;
}

/** A mistake of our own is shown whole, as everywhere. */
function failureWords(failure: unknown, name: string): string[] {
	const goOn = `What was measured before is kept: yard --name ${name} goes on from there.`;
	if (failure instanceof OutsideFailure) return [failure.message, failure.advice, goOn, `(${failure.code})`];
	return [failure instanceof Error ? (failure.stack ?? failure.message) : String(failure), goOn];
}

/** A tablet must reach this computer; anything else stays on it. */
function hostOf({ tablet, host }: YardOptions): string {
	if (host !== undefined) return host;
	if (tablet !== 'page') return '127.0.0.1';
	const ways = networkWays(networkInterfaces()).filter(({ kind }) => kind === 'real');
	const [only, ...others] = ways;
	if (only !== undefined && others.length === 0) return only.address;
	throw new WrongUsage(
		only === undefined
			? 'This computer has no address that a tablet could reach: join the Wi-Fi first, or try the check out with --tablet none.'
			: `Say with --host on which network the tablet is: ${ways.map(({ name, address }) => `${address} (${name})`).join(', ')}.`,
	);
}

/** What the command line answers beforehand, laid over what the session knows. A finished check with new places goes on. */
function begin(found: YardSession, options: YardOptions): YardSession {
	let session: YardSession = { ...takenUp(found), backAtKit: found.backAtKit };
	if (options.rename !== undefined) {
		const [from = '', to = ''] = options.rename.split('=').map((part) => part.trim());
		const index = session.places.findIndex((place) => place.name === from);
		if (index < 0 || to === '')
			throw new WrongUsage(`--rename takes "old name=new name"; there is no place "${from}"`);
		session = refusedAsUsage(() => renamePlace(session, index, to));
	}
	const before = session.places.length;
	for (const text of options.place)
		session = refusedAsUsage(() => applyAct(session, { kind: 'addPlace', text }));
	const isGrown = session.places.length > before;
	return {
		...session,
		wifi: options.wifi ?? session.wifi,
		minutes: options.minutes ?? session.minutes,
		placesNamed: session.placesNamed || options.place.length > 0,
		backAtKit: session.backAtKit && !isGrown && !found.stopped,
	};
}

function refusedAsUsage<T>(act: () => T): T {
	try {
		return act();
	} catch (refused) {
		throw refused instanceof RangeError ? new WrongUsage(refused.message) : refused;
	}
}

/** Of a run that is there, such as `link --profile long --seconds 1800 --probe 100` makes: what changed, where it broke, its air. */
async function tellOverTime(folder: string): Promise<number> {
	const run = await readRunFolder(folder);
	const endurance = measureEndurance(run);
	const { air, repeats } = airReading(run);
	const name = run.header.place ?? 'This run';
	const sections = [
		...(endurance.kind === 'measured'
			? enduranceSections(endurance)
			: [{ title: 'Over time', items: [endurance.explanation] }]),
		{ title: 'The air', items: airWords(name, { air }) },
		{ title: 'What repeats', items: repeatWords([{ name, readings: [{ repeats }] }], candidateCauses) },
	];
	for (const section of sections) process.stdout.write(sectionText(section, terminal()));
	return EXIT.completed;
}

/** Throws `OutsideFailure` `noRun` where the folder holds none with a delay. */
export async function homeReading(folder: string): Promise<NonNullable<YardSession['home']>> {
	const { run, result } = await judgeFolder(folder, standardCriteria);
	const reading = readingOf({ run, result });
	if (reading?.delay == null)
		throw new OutsideFailure(
			'noRun',
			`${folder} holds no delay to stand beside.`,
			'Give the folder of a link run made at home with this tablet.',
		);
	const { startedAt } = run.header;
	return { runId: result.run.id, startedAt, ...reading.delay, device: reading.device };
}

/** Where the one page is. That it could not be written must not keep the last screen away. */
async function pageWords(session: YardSession, out: string): Promise<string> {
	const folder = yardFolder(out, session.name);
	try {
		await writeRunFile(
			folder,
			YARD_PAGE,
			renderYardPage({ session, causesOf: candidateCauses, toolVersion: TOOL_VERSION }),
		);
		return `To show or print: ${join(folder, YARD_PAGE)}`;
	} catch (failure) {
		return `The page to show or print could not be written: ${failure instanceof Error ? failure.message : String(failure)}`;
	}
}

type Asker = {
	ask(question: string): Promise<string | null>;
	/** Every question from now on, and one that waits, is answered with a stop. */
	end(): void;
};

/** Lines typed, or piped in; the end of the pipe ends it. */
function openAsker(): Asker {
	let lines: Interface | null = null;
	const waiting: ((answer: string | null) => void)[] = [];
	const typed: string[] = [];
	let ended = false;
	const end = (): void => {
		ended = true;
		for (const next of waiting.splice(0)) next(null);
	};
	const open = (): void => {
		if (lines !== null) return;
		lines = createInterface({ input: process.stdin, output: process.stderr, terminal: false });
		lines.on('line', (line) => {
			const next = waiting.shift();
			if (next === undefined) typed.push(line.trim());
			else next(line.trim());
		});
		lines.on('close', end);
	};
	return {
		ask(question) {
			open();
			process.stderr.write(`${question} (or: stop) `);
			const early = typed.shift();
			if (early !== undefined) return Promise.resolve(early);
			return ended ? Promise.resolve(null) : new Promise((resolve) => waiting.push(resolve));
		},
		end() {
			typed.length = 0;
			end();
			lines?.close();
		},
	};
}
