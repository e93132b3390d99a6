/** `link`: streams the test card to a viewer, measures, judges, keeps the run. */
import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { type Command, Option } from 'commander';
import { OutsideFailure } from '../failure.ts';
import type { ProfileName } from '../observations/records.ts';
import { CARD_SIZES, type CardSpec, DIFFICULTIES } from '../pattern/card.ts';
import { parseCardSpec } from '../pattern/cardSpec.ts';
import { RunFolder, writeRunFile } from '../register/runFolder.ts';
import { runLink } from '../rigs/link/harness.ts';
import { type LinkOptions, type LinkProgress, usualLink } from '../rigs/link/link.ts';
import { parseAirSpec } from '../simulation/airFile.ts';
import { airPresets } from '../simulation/airPresets.ts';
import type { AirSpec } from '../simulation/airSpec.ts';
import { RTC_CODECS, type RtcCodec } from '../transports/sdpText.ts';
import { profileOf } from '../verdict/profiles.ts';
import { addAnswerOptions, answerRequired, checkRequired } from './answerOptions.ts';
import { type BrowserTablet, openBrowserTablet } from './browserTablet.ts';
import { between, wholeBelow } from './cardCommand.ts';
import { judgeFolder, writeConclusion, writeTables } from './conclude.ts';
import { readCriteria } from './criteriaFile.ts';
import { exitCodeFor, type Required } from './exitCodes.ts';
import { findBrowser } from './installedBrowser.ts';
import { printResult } from './printResult.ts';
import { openProgress, type Progress } from './progressBar.ts';
import { addReferenceOption, layReference, requireReference } from './referenceRun.ts';
import { newRunName } from './runName.ts';
import { RUNS_FOLDER } from './runsCommand.ts';
import { TOOL_VERSION } from './version.ts';

const LINK_PROFILES = ['demo', 'brief', 'verdict', 'long'] as const;
const DEMO_OBSERVED_MS = 20_000;
/** The longest `--seconds`: a working day. */
const MOST_SECONDS = 8 * 3600;

type LinkCommandOptions = {
	readonly reference?: string;
	readonly tablet: 'none' | 'browser';
	readonly transport: 'websocket' | 'webrtc';
	readonly codec: RtcCodec;
	readonly held?: boolean;
	readonly probe?: number;
	readonly profile: (typeof LINK_PROFILES)[number];
	readonly air?: string;
	readonly size: string;
	readonly difficulty: string;
	readonly rate: number;
	readonly bitrate: number;
	readonly key: number;
	readonly seed: number;
	readonly seconds?: number;
	readonly port: number;
	readonly place?: string;
	readonly joined?: string;
	readonly name?: string;
	readonly out: string;
	readonly criteria?: string;
	readonly json?: boolean;
	readonly full?: boolean;
	readonly csv?: boolean;
	readonly require?: Required;
};

export function addLinkCommand(program: Command): void {
	const command = program
		.command('link')
		.description('stream the test card to a viewer and judge the link')
		.addOption(
			new Option(
				'--tablet <viewer>',
				'none: a reader on this computer; browser: the tablet page in an installed browser',
			)
				.choices(['none', 'browser'])
				.default('none'),
		)
		.addOption(
			new Option('--transport <name>', 'how the picture travels: over TCP, or over UDP as kits do')
				.choices(['websocket', 'webrtc'])
				.default('websocket'),
		)
		.addOption(new Option('--codec <name>', 'with webrtc').choices(RTC_CODECS).default('VP8'))
		.option(
			'--probe <per second>',
			'small packets each way beside the picture, for looking at the air',
			between(100, 250),
		)
		.option('--held', 'with webrtc: hold the bitrate instead of adapting below it')
		.addOption(
			new Option('--profile <name>', 'declared before the run').choices(LINK_PROFILES).default('brief'),
		)
		.option('--air <name or file>', `simulated air: ${[...airPresets.keys()].join(', ')}, or a JSON file`)
		.addOption(new Option('--size <size>', 'of the card, in pixels').choices(CARD_SIZES).default('1280x720'))
		.addOption(
			new Option(
				'--difficulty <name>',
				'moving part: easy or hard for the codec, or motion: edges at stated speeds and a pulse',
			)
				.choices(DIFFICULTIES)
				.default('easy'),
		)
		.option('--rate <per second>', 'pictures a second', between(5, 60), 30)
		.option('--bitrate <kbit/s>', 'asked of the encoder', between(100, 50_000), usualLink.bitrateKbps)
		.option('--key <frames>', 'a key picture every so many', between(1, 600), usualLink.keyEveryFrames)
		.option('--seed <number>', 'decides card, air and jitter', wholeBelow(2 ** 32), 1)
		.option(
			'--seconds <number>',
			'observed time, if longer or shorter than the profile asks',
			between(5, MOST_SECONDS),
		)
		.option('--port <number>', 'port of the page and the control socket, 0 for any', wholeBelow(65_536), 0)
		.option('--place <text>', 'where this is measured')
		.option('--joined <text>', 'how the two ends are joined')
		.option('--name <text>', 'name of the run folder')
		.option('--out <folder>', 'where runs are kept', RUNS_FOLDER)
		.option('--csv', 'write figures.csv and frames.csv too');
	addAnswerOptions(addReferenceOption(command)).action(async (options: LinkCommandOptions) => {
		process.exitCode = await link(options);
	});
}

async function link(options: LinkCommandOptions): Promise<number> {
	const criteria = await readCriteria(options.criteria);
	const air = options.air === undefined ? null : await readAir(options.air);
	if (options.tablet === 'browser' && findBrowser() === null) await openBrowserTablet('');
	const reference = await requireReference(options.reference, {
		...{ root: options.out, rig: 'link', layout: 'link', card: cardOf(options) },
	});
	const runId = newRunName('link', options.name);
	const folder = await RunFolder.create(options.out, runId);
	const progress = openProgress(process.stderr);
	try {
		await observe(linkOptions(options, { air, runId }), { folder, progress });
	} finally {
		progress.end();
		await folder.close();
	}
	await layReference(folder.path, reference);
	const conclusion = await judgeFolder(folder.path, criteria);
	checkRequired(options.require, conclusion.result);
	const notes =
		options.csv === true ? [`Tables: ${(await writeTables(folder.path, conclusion)).join(', ')}.`] : [];
	await writeConclusion(folder.path, conclusion);
	printResult(conclusion.result, {
		json: options.json === true,
		full: options.full === true,
		folder: folder.path,
		notes,
	});
	return exitCodeFor(answerRequired(options.require, conclusion.result));
}

function cardOf({ size, seed, difficulty }: LinkCommandOptions): CardSpec {
	return parseCardSpec({ layout: 'link', size, seed, difficulty });
}

function linkOptions(
	options: LinkCommandOptions,
	{ air, runId }: { air: AirSpec | null; runId: string },
): LinkOptions {
	const { profile, seed, place, joined } = options;
	const browser = options.tablet === 'browser';
	const isRtc = options.transport === 'webrtc';
	return {
		...usualLink,
		runId,
		toolVersion: TOOL_VERSION,
		startedAt: new Date().toISOString(),
		profile,
		subject: { kind: browser ? 'link' : 'computer', name: subjectName(options, air), invented: false },
		place: place ?? null,
		joined: joined ?? null,
		card: cardOf(options),
		rateHz: options.rate,
		bitrateKbps: options.bitrate,
		probePerSecond: options.probe ?? null,
		webrtc: isRtc ? { codec: options.codec, pinned: options.held === true } : null,
		keyEveryFrames: options.key,
		observedMs: options.seconds === undefined ? declaredMs(profile) : options.seconds * 1000,
		air: air === null ? null : { spec: air, seed },
		viewer: browser ? 'external' : 'headless',
		pagesFolder: browser ? PAGES_FOLDER : null,
		controlPort: options.port,
		seed,
	};
}

const PAGES_FOLDER = fileURLToPath(new URL('../pages', import.meta.url));

/** The profile's declared time; demo declares none, and gets enough for readings. */
function declaredMs(profile: ProfileName): number {
	return profile === 'demo' ? DEMO_OBSERVED_MS : profileOf(profile).observedMs;
}

function subjectName({ tablet, transport, codec }: LinkCommandOptions, air: AirSpec | null): string {
	const over = transport === 'webrtc' ? `WebRTC (${codec})` : 'WebSocket';
	const way = air === null ? `${over} on this computer` : `${over} through a simulated air (${air.name})`;
	return tablet === 'browser'
		? `the tablet page in this computer's browser over ${way}`
		: `this computer, ${way}`;
}

/** Runs the link with its viewer into the folder; Ctrl-C ends it early and keeps what was observed. */
async function observe(
	options: LinkOptions,
	{ folder, progress }: { folder: RunFolder; progress: Progress },
): Promise<void> {
	const stop = new AbortController();
	const onInterrupt = (): void => stop.abort();
	process.once('SIGINT', onInterrupt);
	const pictures: Promise<void>[] = [];
	let tablet: Promise<BrowserTablet> | null = null;
	try {
		await runLink(options, {
			record: (record) => folder.append(record),
			evidence: (name, png) => pictures.push(writeRunFile(folder.path, name, png)),
			progress: (step) => {
				show(progress, step);
				if (step.stage === 'waitingForViewer' && options.viewer === 'external') {
					tablet = openBrowserTablet(`${step.url}tablet/`);
					tablet.catch(() => stop.abort());
				}
			},
			signal: stop.signal,
		});
	} finally {
		process.off('SIGINT', onInterrupt);
		await Promise.all(pictures);
		await (await (tablet as Promise<BrowserTablet> | null))?.close();
	}
}

/** What is told of a link while it runs. */
export function show(progress: Progress, step: LinkProgress): void {
	if (step.stage === 'waitingForViewer') progress.show(0, `waiting for the viewer at ${step.url}`);
	else if (step.stage === 'warmUp') progress.show(0, warmUpWords(step.bufferMs));
	else if (step.stage === 'measuring') {
		const left = Math.max(0, Math.ceil((step.targetMs - step.observedMs) / 1000));
		progress.show(step.observedMs / step.targetMs, `measuring, ${left} s left`);
	} else if (step.stage === 'draining') progress.show(1, 'waiting for what is still on its way');
	else if (step.stage === 'finishing') progress.show(1, "collecting the viewer's last report");
}

function warmUpWords(bufferMs: number | null): string {
	return bufferMs === null
		? 'warming up: nothing counts yet'
		: `waiting until the viewer's jitter buffer is at rest, now ${Math.round(bufferMs)} ms`;
}

export async function readAir(nameOrFile: string): Promise<AirSpec> {
	const preset = airPresets.get(nameOrFile);
	if (preset !== undefined) return preset.spec;
	const text = await readFile(nameOrFile, 'utf8').catch((cause) => {
		throw new OutsideFailure(
			'airMissing',
			`There is no air called ${nameOrFile}, and no such file.`,
			`Use one of ${[...airPresets.keys()].join(', ')}, or the path of a JSON file.`,
			{ cause },
		);
	});
	return parseAirSpec(text, nameOrFile);
}
