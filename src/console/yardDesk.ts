/**
 * The yard check as the console holds it: the one that is open, kept on disk after every step, and its run while one is on. What
 * comes next and what may be done are the session's own (verdict/yardSession.ts, yardActs.ts), the same as in the terminal.
 */
import { OutsideFailure } from '../failure.ts';
import { candidateCauses } from '../metrics/repeatCauses.ts';
import type { YardOrder, YardState } from '../protocol/yard.ts';
import { writeRunFile } from '../register/runFolder.ts';
import { keptYards, openYard, saveYard, YARD_PAGE, yardFolder } from '../register/yardFolder.ts';
import { renderYardPage } from '../report/yardHtml.ts';
import { WIFI_WORDS } from '../report/yardWords.ts';
import { channelSeen, channelWords } from '../rigs/air/channelWords.ts';
import { lookAtAir, type SeenAir } from '../rigs/air/lookAtAir.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { applyAct, type BegunRun, beginRun, endRun, type YardAct } from '../verdict/yardActs.ts';
import { nextStep, type YardReading, type YardSession } from '../verdict/yardSession.ts';
import { yardView } from './yardView.ts';

/** A name becomes a folder's and its runs': what is safe as such everywhere. */
const NAME = /^[A-Za-z0-9][A-Za-z0-9._-]{0,59}$/;

/** A run to begin, by the console's own door and tablet; settles with what the check takes from it. */
export type YardLaunch = {
	readonly runId: string;
	readonly profile: BegunRun['profile'];
	readonly observedMs: number;
	readonly place: string;
	readonly joined: string;
	readonly transport: 'webrtc' | 'websocket';
};

/** What a yard check needs of the program that opens the console. */
export type YardOptions = {
	readonly newName: () => string;
	/** Judges and keeps a run's folder, and says what a check takes from it; null: nothing was measured. */
	readonly conclude: (folder: string) => Promise<{ result: ResultDocument; reading: YardReading | null }>;
	readonly home: (folder: string) => Promise<NonNullable<YardSession['home']>>;
};

/** Ends of a run that say nothing of the place: nobody looked, or nothing was seen. */
export function saysNothing(failure: unknown): boolean {
	return failure instanceof OutsideFailure && /^(viewer|headerMissing$|noRun$)/.test(failure.code);
}

type YardMeans = {
	readonly runsFolder: string;
	readonly toolVersion: string;
	readonly newName: () => string;
	/** Throws `OutsideFailure` where no run can begin now. Null: nothing could be measured. */
	readonly launch: (what: YardLaunch) => Promise<YardReading | null>;
	readonly stopRun: () => void;
	readonly home: YardOptions['home'];
	readonly onChange: () => void;
};

export class YardDesk {
	readonly #means: YardMeans;
	#session: YardSession | null = null;
	#begun: BegunRun | null = null;
	#air: SeenAir | null = null;
	#refused: string | null = null;
	#keeping: Promise<void> = Promise.resolve();
	#kept: YardState['kept'];

	constructor(means: YardMeans) {
		this.#means = means;
		this.#kept = keptYards(means.runsFolder);
	}

	state(): YardState {
		const session = this.#session;
		const { kept, refused } = { kept: this.#kept, refused: this.#refused };
		if (session === null) return { kept, refused, check: null };
		const channel = session.channel === null ? [] : channelWords(session.channel, this.#air).words;
		const pageUrl = `/runs/yards/${encodeURIComponent(session.name)}/${YARD_PAGE}`;
		return {
			kept,
			refused,
			check: yardView(session, { channel, isMeasuring: this.#begun !== null, pageUrl }),
		};
	}

	/** The check on one page, as it stands; null without one. */
	sheet(): string | null {
		return this.#session === null ? null : this.#render(this.#session);
	}

	/** What cannot be done is said in the state; only what must not happen throws. */
	async obey(order: YardOrder): Promise<void> {
		this.#refused = null;
		try {
			await this.#do(order);
		} catch (refused) {
			if (!(refused instanceof RangeError)) throw refused;
			this.#refused = refused.message;
		}
	}

	async #do(order: YardOrder): Promise<void> {
		if (order.kind === 'open') return this.#open(order.name.trim().replace(/\s+/g, '-'));
		const session = this.#session;
		if (session === null) throw new RangeError('No check is open.');
		if (order.kind === 'stop') {
			// What is cut off in the middle says nothing of its place: it stays `begun`.
			await this.#keep(applyAct(session, order));
			this.#means.stopRun();
			return;
		}
		if (this.#begun !== null) throw new RangeError('A run is on: stop it first.');
		if (order.kind === 'leave') {
			this.#session = null;
			this.#kept = keptYards(this.#means.runsFolder);
		} else if (order.kind === 'measure') await this.#measure(session, order.transport);
		else if (order.kind === 'atHome')
			await this.#keep({ ...session, home: await this.#means.home(order.runId) });
		else await this.#act(session, order);
	}

	async #open(name: string): Promise<void> {
		if (this.#begun !== null) throw new RangeError('A run is on: stop it first.');
		if (name !== '' && !NAME.test(name))
			throw new RangeError('A name of letters (A to Z), digits, dots and dashes, please.');
		const { runsFolder, newName } = this.#means;
		const found = openYard(runsFolder, name === '' ? newName() : name, new Date().toISOString());
		await this.#keep(found);
		await this.#lookAtChannel();
	}

	async #act(session: YardSession, act: YardAct): Promise<void> {
		const advice = act.kind === 'channel' ? { advice: channelWords(act.text, null).words } : {};
		await this.#keep(applyAct(session, { ...act, ...advice }));
		await this.#lookAtChannel();
	}

	/** Where this computer can see the channel, nobody is asked for it. */
	async #lookAtChannel(): Promise<void> {
		if (this.#session === null || nextStep(this.#session).kind !== 'askChannel') return;
		this.#air = await lookAtAir();
		if (this.#session === null || channelSeen(this.#air) === null) return;
		const { channel, words } = channelWords('', this.#air);
		await this.#keep(applyAct(this.#session, { kind: 'channel', text: channel, advice: words }));
	}

	async #measure(session: YardSession, transport: YardLaunch['transport']): Promise<void> {
		const step = nextStep(session);
		if (!('place' in step)) throw new RangeError('No run is next.');
		const begun = beginRun(session, step);
		this.#begun = begun;
		try {
			await this.#keep(begun.session);
			const { run, profile, observedMs, place } = begun;
			const reading = await this.#means.launch({
				...{ runId: run.runId, profile, observedMs, transport, place: place.name },
				joined: WIFI_WORDS[session.wifi ?? 'kit'],
			});
			const now = this.#session ?? begun.session;
			if (!now.stopped) await this.#keep(endRun(now, begun, reading));
		} finally {
			this.#begun = null;
		}
	}

	/** One after the other: a stop comes while a run is being kept. */
	#keep(session: YardSession): Promise<void> {
		this.#session = session;
		this.#keeping = this.#keeping.catch(() => {}).then(() => this.#write(session));
		return this.#keeping;
	}

	async #write(session: YardSession): Promise<void> {
		const { runsFolder } = this.#means;
		await saveYard(runsFolder, session);
		await writeRunFile(yardFolder(runsFolder, session.name), YARD_PAGE, this.#render(session));
		this.#means.onChange();
	}

	#render(session: YardSession): string {
		const { toolVersion } = this.#means;
		return renderYardPage({ session, causesOf: candidateCauses, toolVersion });
	}
}
