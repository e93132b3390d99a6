/** The probe process as the bench holds it. */
import { OutsideFailure } from '../failure.ts';
import { ended, startChild, tell } from './childChannel.ts';
import { type FromProbe, fromProbeSchema } from './probeMessages.ts';

const OPEN_WITHIN_MS = 20_000;
const STOP_WITHIN_MS = 2000;

export type ProbeOptions = {
	/** Mean number of packets a second, each way. */
	readonly perSecond: number;
	readonly seed: number;
	/** Only by way of this address of this machine; null: any. */
	readonly onlyHost: string | null;
};

export type ProbeEvents = {
	offer(link: number, sdp: string): void;
	connected(link: number): void;
	/** The connection is no more. */
	lost(link: number, why: string): void;
	probed(traffic: Extract<FromProbe, { type: 'probed' }>): void;
	/** The process ended by itself. */
	gone(failure: OutsideFailure): void;
};

export type Probe = {
	join(link: number): void;
	answer(link: number, sdp: string): void;
	stop(): Promise<void>;
};

/** Throws `OutsideFailure`: `webrtcMissing` or `probeLost`. */
export function startProbe(options: ProbeOptions, events: ProbeEvents): Promise<Probe> {
	const child = startChild(import.meta.url, 'probeProcess');
	let failure = probeLost();
	let stopping = false;
	const probe: Probe = {
		join: (link) => tell(child, { type: 'join', link }),
		answer: (link, sdp) => tell(child, { type: 'answer', link, sdp }),
		async stop() {
			stopping = true;
			if (child.connected) child.disconnect();
			await ended(child, STOP_WITHIN_MS);
		},
	};
	return new Promise((resolve, reject) => {
		const timer = setTimeout(() => child.kill('SIGKILL'), OPEN_WITHIN_MS);
		child.on('message', (raw) => {
			const message = fromProbeSchema.parse(raw);
			if (message.type === 'probed') events.probed(message);
			else if (message.type === 'offer') events.offer(message.link, message.sdp);
			else if (message.type === 'connected') events.connected(message.link);
			else if (message.type === 'lost') events.lost(message.link, message.why);
			else if (message.type === 'failed')
				failure = new OutsideFailure(message.code, message.happened, message.advice);
			else {
				clearTimeout(timer);
				resolve(probe);
			}
		});
		child.once('exit', () => {
			clearTimeout(timer);
			// Refusing is without effect once it had opened.
			reject(failure);
			if (!stopping) events.gone(failure);
		});
		tell(child, { type: 'open', ...options });
	});
}

function probeLost(): OutsideFailure {
	return new OutsideFailure(
		'probeLost',
		'The process that probes the air ended by itself.',
		'What was observed up to then is kept; measure again, or without the probe.',
	);
}
