/** The sender process as the bench holds it. */
import type { ChildProcess } from 'node:child_process';
import { OutsideFailure } from '../../failure.ts';
import type { StreamCountsRow } from '../../observations/records.ts';
import { ended, startChild, tell } from '../../transports/childChannel.ts';
import { type FromSender, fromSenderSchema, type SenderSettings, type SentFrame } from './senderMessages.ts';

const OPEN_WITHIN_MS = 20_000;
const STOP_WITHIN_MS = 2000;

export type SenderEvents = {
	frame(frame: SentFrame): void;
	event(event: Extract<FromSender, { type: 'event' }>): void;
	/** WebRTC only: what the viewer has to be told, and what became of it. */
	offer(link: number, sdp: string): void;
	connected(link: number): void;
	streamLost(link: number, why: string): void;
	counts(row: StreamCountsRow): void;
	/** It ended by itself. */
	lost(failure: OutsideFailure): void;
};

export type Sender = {
	readonly port: number;
	readonly codec: string;
	readonly pid: number | undefined;
	begin(): void;
	/** WebRTC only: offers a connection of this number, takes its answer, closes it. */
	join(link: number): void;
	answer(link: number, sdp: string): void;
	leave(): void;
	watch(link: number): void;
	unwatch(link: number): void;
	stop(): Promise<void>;
};

/** Throws `OutsideFailure`: the sender's own (`encoderMissing`, `portInUse`, …) or `senderLost`. */
export function startSender(settings: Omit<SenderSettings, 'type'>, events: SenderEvents): Promise<Sender> {
	const child = startChild(import.meta.url, 'senderProcess');
	let stopping = false;
	let failure: OutsideFailure = senderLost();
	const stop = async () => {
		stopping = true;
		if (child.connected) child.disconnect();
		await ended(child, STOP_WITHIN_MS);
	};
	return new Promise((resolve, reject) => {
		const timer = setTimeout(() => child.kill('SIGKILL'), OPEN_WITHIN_MS);
		child.on('message', (raw) => {
			const message = fromSenderSchema.parse(raw);
			if (message.type === 'frame') events.frame(message.frame);
			else if (message.type === 'event') events.event(message);
			else if (message.type === 'offer') events.offer(message.link, message.sdp);
			else if (message.type === 'connected') events.connected(message.link);
			else if (message.type === 'streamLost') events.streamLost(message.link, message.why);
			else if (message.type === 'counts') events.counts(message.row);
			else if (message.type === 'failed')
				failure = new OutsideFailure(message.code, message.happened, message.advice);
			else if (message.type === 'open') {
				clearTimeout(timer);
				const { port, codec } = message;
				const begin = () => tell(child, { type: 'begin' });
				resolve({ port, codec, pid: child.pid, begin, ...streamOrders(child), stop });
			}
		});
		child.once('exit', () => {
			clearTimeout(timer);
			// Refusing is without effect once it had opened.
			reject(failure);
			if (!stopping) events.lost(failure);
		});
		tell(child, { type: 'open', ...settings });
	});
}

function streamOrders(child: ChildProcess): Pick<Sender, 'join' | 'answer' | 'leave' | 'watch' | 'unwatch'> {
	return {
		join: (link) => tell(child, { type: 'join', link }),
		answer: (link, sdp) => tell(child, { type: 'answer', link, sdp }),
		leave: () => tell(child, { type: 'leave' }),
		watch: (link) => tell(child, { type: 'watch', link }),
		unwatch: (link) => tell(child, { type: 'unwatch', link }),
	};
}

function senderLost(): OutsideFailure {
	return new OutsideFailure(
		'senderLost',
		'The process that makes the picture ended by itself.',
		'What was observed up to then is kept; measure again, and report it if it happens twice.',
	);
}
