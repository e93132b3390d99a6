/** The UDP relay process as the bench holds it: started with an air, asked for its log at the end. */
import { OutsideFailure } from '../failure.ts';
import { ended, startChild, tell } from './childChannel.ts';
import type { RelayAir } from './relay.ts';
import type { Address } from './sdpText.ts';
import { fromUdpRelaySchema, type UdpRelayRow } from './udpRelayMessages.ts';

const OPEN_WITHIN_MS = 20_000;
const STOP_WITHIN_MS = 3000;
/** Newest packets kept: a quarter of an hour at some hundreds a second. What is older is counted and gone. */
const MOST_ROWS = 400_000;

export type UdpRelayLog = {
	/** CLOCK_MONOTONIC instant of the air's own zero; null: nothing ever came that it is for. */
	readonly zeroMs: number | null;
	/** In order of release or loss. */
	readonly rows: readonly UdpRelayRow[];
	/** Packets that the log no longer holds, from its beginning. */
	readonly forgottenCount: number;
};

export type UdpRelay = {
	/** The one address that the sender is told of, and the one for the viewer. */
	readonly senderSide: Address;
	readonly viewerSide: Address;
	/** Another connection begins. */
	renew(): void;
	/** Ends the relay and gives what it did; what a dead relay had told is kept. Asked again, it answers the same. */
	stop(): Promise<UdpRelayLog>;
};

export type UdpRelayOptions = {
	readonly air: RelayAir;
	readonly host: string;
	/** Where the viewer comes; 0 for any free port. */
	readonly port: number;
	readonly beginsAt: 'picture' | 'data';
	/** Called when the relay ends by itself. */
	readonly onLost?: () => void;
};

/** Throws `OutsideFailure` when it does not open. */
export function startUdpRelay({ air, host, port, beginsAt, onLost }: UdpRelayOptions): Promise<UdpRelay> {
	const child = startChild(import.meta.url, 'udpRelayProcess');
	const rows: UdpRelayRow[] = [];
	let zeroMs: number | null = null;
	let forgottenCount = 0;
	let stopped: Promise<UdpRelayLog> | null = null;
	let failure = relayFailed();
	let toldAll: () => void = () => {};
	const allTold = new Promise<void>((resolve) => {
		toldAll = resolve;
	});
	const stop = async (): Promise<UdpRelayLog> => {
		tell(child, { type: 'stop' });
		const timer = setTimeout(toldAll, STOP_WITHIN_MS);
		await allTold;
		clearTimeout(timer);
		if (child.connected) child.disconnect();
		await ended(child, STOP_WITHIN_MS);
		return { zeroMs, rows, forgottenCount };
	};
	return new Promise((resolve, reject) => {
		const timer = setTimeout(() => child.kill('SIGKILL'), OPEN_WITHIN_MS);
		child.on('message', (raw) => {
			const message = fromUdpRelaySchema.parse(raw);
			if (message.type === 'rows') {
				rows.push(...message.rows);
				const over = rows.length - MOST_ROWS;
				// In large pieces, since each shifts the rest.
				if (over > MOST_ROWS / 4) forgottenCount += rows.splice(0, over).length;
			} else if (message.type === 'zero') zeroMs = message.atMs;
			else if (message.type === 'stopped') toldAll();
			else if (message.type === 'failed')
				failure = new OutsideFailure(message.code, message.happened, message.advice);
			else {
				clearTimeout(timer);
				resolve({
					senderSide: { host, port: message.senderSidePort },
					viewerSide: { host, port: message.viewerSidePort },
					renew: () => tell(child, { type: 'renew' }),
					stop: () => {
						stopped ??= stop();
						return stopped;
					},
				});
			}
		});
		child.once('exit', () => {
			clearTimeout(timer);
			toldAll();
			// Refusing is without effect once it had opened.
			reject(failure);
			if (stopped === null) onLost?.();
		});
		tell(child, { type: 'open', host, port, beginsAt, air: air.spec, seed: air.seed });
	});
}

function relayFailed(): OutsideFailure {
	return new OutsideFailure(
		'relayFailed',
		'The relay did not start.',
		'Try again; if it stays, run without an air.',
	);
}
