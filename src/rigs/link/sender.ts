/** The sender process as the bench holds it. */
import { OutsideFailure } from '../../failure.ts';
import { ended, startChild, tell } from '../../transports/childChannel.ts';
import { type FromSender, fromSenderSchema, type SenderSettings, type SentFrame } from './senderMessages.ts';

const OPEN_WITHIN_MS = 20_000;
const STOP_WITHIN_MS = 2000;

export type SenderEvents = {
	frame(frame: SentFrame): void;
	event(event: Extract<FromSender, { type: 'event' }>): void;
	/** It ended by itself. */
	lost(failure: OutsideFailure): void;
};

export type Sender = {
	readonly port: number;
	readonly codec: string;
	readonly pid: number | undefined;
	begin(): void;
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
			else if (message.type === 'failed')
				failure = new OutsideFailure(message.code, message.happened, message.advice);
			else if (message.type === 'open') {
				clearTimeout(timer);
				const { port, codec } = message;
				resolve({ port, codec, pid: child.pid, begin: () => tell(child, { type: 'begin' }), stop });
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

function senderLost(): OutsideFailure {
	return new OutsideFailure(
		'senderLost',
		'The process that makes the picture ended by itself.',
		'What was observed up to then is kept; measure again, and report it if it happens twice.',
	);
}
