/** One run of a yard check: streams, measures, judges and keeps it as `link` does, and takes from it what the check compares. */
import { fileURLToPath } from 'node:url';
import { OutsideFailure } from '../failure.ts';
import { measureAir } from '../metrics/air.ts';
import { measureCompany } from '../metrics/company.ts';
import { measureEndurance } from '../metrics/endurance.ts';
import { measureBreaks } from '../metrics/linkBreaks.ts';
import type { FreshDelay } from '../metrics/metric.ts';
import { findRepeating } from '../metrics/repeating.ts';
import { viewerDeviceOf } from '../metrics/viewerDevice.ts';
import type { Run } from '../observations/run.ts';
import { RunFolder, writeRunFile } from '../register/runFolder.ts';
import { runLink } from '../rigs/link/harness.ts';
import { type LinkOptions, usualLink } from '../rigs/link/link.ts';
import type { AirSpec } from '../simulation/airSpec.ts';
import { standardCriteria, thresholdsOf } from '../verdict/criteria.ts';
import type { BegunRun } from '../verdict/yardActs.ts';
import type { YardReading } from '../verdict/yardSession.ts';
import { type BrowserTablet, openBrowserTablet } from './browserTablet.ts';
import { type Conclusion, judgeFolder, writeConclusion } from './conclude.ts';
import { show } from './linkCommand.ts';
import { openProgress } from './progressBar.ts';
import { TOOL_VERSION } from './version.ts';

export type YardApparatus = {
	readonly tablet: 'none' | 'browser' | 'page';
	readonly host: string;
	readonly port: number;
	readonly air: AirSpec | null;
	readonly joined: string;
	readonly out: string;
	/** Seconds of each run in the place of the profile's; null: the profile's. Answers then say that the run was short. */
	readonly seconds: number | null;
	/** Small packets a second, each way; null: the pictures alone tell of the air. */
	readonly probePerSecond: number | null;
	readonly webrtc: LinkOptions['webrtc'];
};

const PAGES_FOLDER = fileURLToPath(new URL('../pages', import.meta.url));
/** Walking to the next place takes a while, and the tablet may have gone to sleep on the way. */
const VIEWER_WITHIN_MS = 120_000;

/** Null where nobody looked or nothing was measured. Other failures of the world are thrown. */
export async function measureYardRun(
	what: BegunRun,
	apparatus: YardApparatus,
	signal: AbortSignal,
): Promise<YardReading | null> {
	const folder = await RunFolder.create(apparatus.out, what.run.runId);
	try {
		await observe(what, apparatus, { folder, signal });
	} catch (failure) {
		if (failure instanceof OutsideFailure && failure.code.startsWith('viewer')) return null;
		throw failure;
	} finally {
		await folder.close();
	}
	const conclusion = await judgeFolder(folder.path, standardCriteria).catch((failure: unknown) => {
		if (failure instanceof OutsideFailure) return null;
		throw failure;
	});
	if (conclusion === null) return null;
	await writeConclusion(folder.path, conclusion);
	return readingOf(conclusion);
}

async function observe(
	what: BegunRun,
	apparatus: YardApparatus,
	{ folder, signal }: { folder: RunFolder; signal: AbortSignal },
): Promise<void> {
	const progress = openProgress(process.stderr);
	const pictures: Promise<void>[] = [];
	let tablet: Promise<BrowserTablet> | null = null;
	try {
		await runLink(optionsOf(what, apparatus), {
			record: (record) => folder.append(record),
			evidence: (name, png) => pictures.push(writeRunFile(folder.path, name, png)),
			progress: (step) => {
				if (step.stage === 'waitingForViewer' && apparatus.tablet === 'page')
					progress.show(0, `on the tablet, open ${step.url}tablet/`);
				else show(progress, step);
				if (step.stage === 'waitingForViewer' && apparatus.tablet === 'browser') {
					tablet = openBrowserTablet(`${step.url}tablet/`);
					tablet.catch(() => {});
				}
			},
			signal,
		});
	} finally {
		progress.end();
		await Promise.all(pictures);
		await (await (tablet as Promise<BrowserTablet> | null))?.close();
	}
}

function optionsOf(
	{ place, run: { runId }, profile, observedMs }: BegunRun,
	apparatus: YardApparatus,
): LinkOptions {
	const { tablet, air, host, port, joined, seconds, probePerSecond, webrtc } = apparatus;
	const way = webrtc === null ? 'WebSocket' : `WebRTC (${webrtc.codec})`;
	const external = tablet !== 'none';
	const name = external
		? `the tablet page${tablet === 'browser' ? " in this computer's browser" : ''} over ${way}`
		: `this computer, ${way}`;
	return {
		...usualLink,
		runId,
		toolVersion: TOOL_VERSION,
		startedAt: new Date().toISOString(),
		profile,
		subject: {
			kind: external ? 'link' : 'computer',
			name: air === null ? name : `${name}, through a simulated air (${air.name})`,
			invented: false,
		},
		place: place.name,
		joined,
		probePerSecond,
		webrtc,
		observedMs: seconds === null ? observedMs : seconds * 1000,
		air: air === null ? null : { spec: air, seed: 1 },
		viewer: external ? 'external' : 'headless',
		pagesFolder: external ? PAGES_FOLDER : null,
		host,
		controlPort: port,
		viewerWithinMs: VIEWER_WITHIN_MS,
	};
}

/** What a check compares and tells of one run; null where the age of the picture could not be measured. */
export function readingOf({ run, result }: Conclusion): YardReading | null {
	const { pictureAge, freshDelay } = result.metrics;
	if (pictureAge.kind !== 'measured') return null;
	const { subject, startedAt } = run.header;
	return {
		made: { subject: subject.name, startedAt, observedS: result.run.observedMs / 1000 },
		overLimitRatio: pictureAge.overLimit.shareRatio,
		effectiveCount: pictureAge.overLimit.effectiveCount,
		headline: result.verdict.headline,
		against: result.criteria.flatMap(({ state, label, required }) =>
			state === 'notMet' && required.includes('steer') ? [label] : [],
		),
		...airReading(run),
		delay: freshDelay.kind === 'measured' ? delayOf(freshDelay) : null,
		device: viewerDeviceOf(run.header),
		steer: result.verdict.steer,
		order: result.verdict.order,
		breaks: measureBreaks(run),
		overTime: run.header.profile === 'long' ? overTimeOf(run) : null,
		company: measureCompany(run, thresholdsOf(standardCriteria).ageLimitMs),
	};
}

function overTimeOf(run: Run): YardReading['overTime'] {
	const endurance = measureEndurance(run);
	if (endurance.kind !== 'measured') return null;
	const { minutes, rows, changes } = endurance;
	return { minutes, rows: [...rows], changes: [...changes] };
}

/** What the packets of a run tell of its air. */
export function airReading(run: Run): Pick<YardReading, 'air' | 'repeats'> {
	const air = measureAir(run);
	const repeating = findRepeating(run);
	return {
		repeats:
			repeating.kind === 'measured'
				? repeating.repeats.map(({ way: _, wanders: __, worstTenth: ___, ...repeat }) => repeat)
				: null,
		air:
			air.kind === 'measured'
				? air.ways.map(
						({ way, carriedBy, sent, lostRatio, pdvP95Ms, bursts, reordered, gilbert, closeLossRatio }) => ({
							...{ way, carriedBy, sent, lostRatio, pdvP95Ms, reordered, closeLossRatio },
							burstCount: bursts.count,
							longestBurstMs: bursts.longestMs,
							gilbert: gilbert === null ? null : { meanBurst: gilbert.meanBurst, meanGap: gilbert.meanGap },
						}),
					)
				: [],
	};
}

type Told = Pick<FreshDelay, 'medianMs' | 'p95Ms' | 'uncertaintyMs'>;

/** Only films leave median and P95 untold, and no check is one. */
function delayOf({ medianMs, p95Ms, uncertaintyMs }: Told): YardReading['delay'] {
	return medianMs === null || p95Ms === null ? null : { medianMs, p95Ms, uncertaintyMs };
}
