/**
 * Whether small packets (UDP) pass between this laptop and a tablet: tried with a real connection that carries no picture, while
 * the tablet waits for a run. It stands for the way both there and back; what a run then needs more is the run's affair.
 */
import type { OutsideFailure } from '../failure.ts';
import type { FromViewer, ToViewer } from '../protocol/control.ts';
import type { Probe, ProbeEvents, ProbeOptions } from '../transports/probe.ts';

/** `noneThere`, `noneHere`: the tablet's browser, or this laptop, has no WebRTC. */
export type UdpState = 'untried' | 'trying' | 'open' | 'shut' | 'noneThere' | 'noneHere';

/** Pairs of candidates are asked for some seconds; on a network that lets packets through the first answer comes within one. */
const SHUT_AFTER_MS = 12_000;
const PACKETS_PER_SECOND = 100;

export type UdpTrialMeans = {
	/** The address of this laptop that the tablet came to. */
	readonly host: () => string | null;
	readonly start: (options: ProbeOptions, events: ProbeEvents) => Promise<Probe>;
	readonly onChange: () => void;
};

export class UdpTrial {
	readonly #means: UdpTrialMeans;
	#state: UdpState = 'untried';
	#link = 0;
	#probe: Probe | null = null;
	#timer: NodeJS.Timeout | undefined;

	constructor(means: UdpTrialMeans) {
		this.#means = means;
	}

	get state(): UdpState {
		return this.#state;
	}

	/** A tablet waits; `tell` reaches it. A later one is tried anew. */
	async begin(hasWebrtc: boolean, tell: (message: ToViewer) => void): Promise<void> {
		this.stop();
		const link = ++this.#link;
		if (!hasWebrtc) return this.#become('noneThere');
		this.#become('trying');
		const isMine = (): boolean => link === this.#link && this.#state === 'trying';
		const end = (state: UdpState): void => {
			if (!isMine()) return;
			this.#become(state);
			this.stop();
		};
		this.#timer = setTimeout(() => end('shut'), SHUT_AFTER_MS);
		try {
			const probe = await this.#means.start(
				{ perSecond: PACKETS_PER_SECOND, seed: link, onlyHost: this.#means.host() },
				{
					offer: (number, sdp) => {
						if (isMine()) tell({ type: 'offer', way: 'probe', link: number, sdp });
					},
					connected: () => end('open'),
					lost: () => end('shut'),
					probed: () => {},
					gone: () => end('noneHere'),
				},
			);
			if (!isMine()) return void probe.stop();
			this.#probe = probe;
			probe.join(link);
		} catch (failure) {
			end((failure as OutsideFailure).code === 'webrtcMissing' ? 'noneHere' : 'untried');
		}
	}

	answered({ way, link, sdp }: Extract<FromViewer, { type: 'answer' }>): void {
		if (way === 'probe' && link === this.#link) this.#probe?.answer(link, sdp);
	}

	/** What a run saw of the way. */
	seen(isOpen: boolean): void {
		this.stop();
		this.#become(isOpen ? 'open' : 'shut');
	}

	/** Another way here: nothing is known of it. */
	forget(): void {
		this.stop();
		this.#link++;
		this.#state = 'untried';
	}

	/** What is known stays; a trial that is on ends without a result. */
	stop(): void {
		clearTimeout(this.#timer);
		void this.#probe?.stop();
		this.#probe = null;
		if (this.#state === 'trying') this.#become('untried');
	}

	#become(state: UdpState): void {
		this.#state = state;
		this.#means.onChange();
	}
}
