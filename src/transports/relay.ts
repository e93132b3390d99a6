/**
 * The relay process as the bench holds it: started with an air and a sender's port, asked for its log at the end.
 */
import type { ChildProcess } from 'node:child_process';
import { OutsideFailure } from '../failure.ts';
import type { AirSpec } from '../simulation/airSpec.ts';
import { ended, startChild, tell } from './childChannel.ts';
import type { RelayLog } from './relayLog.ts';
import { type FromRelay, fromRelaySchema, type RelayRow } from './relayMessages.ts';

/** How long a child may take to open, and to hand over what it still holds. */
const OPEN_WITHIN_MS = 20_000;
const STOP_WITHIN_MS = 3000;

export type RelayAir = { readonly spec: AirSpec; readonly seed: number };

export type Relay = {
	readonly port: number;
	/** Ends the relay and gives what it did; what a dead relay had told is kept. Asked again, it answers the same. */
	stop(): Promise<RelayLog>;
};

export type RelayOptions = {
	readonly air: RelayAir;
	readonly host: string;
	/** Where the viewer comes; 0 for any free port. */
	readonly port: number;
	readonly upstreamPort: number;
	/** Called when the relay ends by itself. */
	readonly onLost?: () => void;
};

/** Throws `OutsideFailure` when it does not open. */
export async function startRelay({ air, host, port, upstreamPort, onLost }: RelayOptions): Promise<Relay> {
	const child = startChild(import.meta.url, 'relayProcess');
	const rows: RelayRow[] = [];
	let zeroMs = 0;
	let stopping = false;
	child.on('message', (raw) => {
		const message = fromRelaySchema.parse(raw);
		if (message.type === 'rows') rows.push(...message.rows);
		if (message.type === 'zero') zeroMs = message.atMs;
	});
	child.once('exit', () => {
		if (!stopping) onLost?.();
	});
	const opened = await answer(
		child,
		OPEN_WITHIN_MS,
		(message) => message.type === 'open',
		() => tell(child, { type: 'open', host, port, upstreamPort, air: air.spec, seed: air.seed }),
	);
	if (opened?.type !== 'open') throw relayFailed(opened);
	let stopped: Promise<RelayLog> | null = null;
	const stop = async (): Promise<RelayLog> => {
		stopping = true;
		await answer(
			child,
			STOP_WITHIN_MS,
			({ type }) => type === 'stopped',
			() => tell(child, { type: 'stop' }),
		);
		if (child.connected) child.disconnect();
		await ended(child, STOP_WITHIN_MS);
		return { zeroMs, rows };
	};
	return {
		port: opened.port,
		stop() {
			stopped ??= stop();
			return stopped;
		},
	};
}

/** The first message that is wanted or tells of a failure; null when the child ends or takes too long. */
function answer(
	child: ChildProcess,
	withinMs: number,
	isWanted: (message: FromRelay) => boolean,
	ask: () => void,
): Promise<FromRelay | null> {
	if (child.exitCode !== null || child.signalCode !== null) return Promise.resolve(null);
	return new Promise((resolve) => {
		const settle = (message: FromRelay | null) => {
			clearTimeout(timer);
			child.off('message', onMessage);
			child.off('exit', onExit);
			resolve(message);
		};
		const timer = setTimeout(() => settle(null), withinMs);
		const onExit = () => settle(null);
		const onMessage = (raw: unknown) => {
			const message = fromRelaySchema.parse(raw);
			if (isWanted(message) || message.type === 'failed') settle(message);
		};
		child.on('message', onMessage);
		child.on('exit', onExit);
		ask();
	});
}

function relayFailed(message: FromRelay | null): OutsideFailure {
	if (message?.type === 'failed') return new OutsideFailure(message.code, message.happened, message.advice);
	return new OutsideFailure(
		'relayFailed',
		'The relay did not start.',
		'Try again; if it stays, run without an air.',
	);
}
