/**
 * The console: what the laptop's page shows and orders, in one place. It holds the door for tablets, the run that is on,
 * the last answer and the list for home, and sends its whole state to every open page when something changed.
 */
import { randomBytes } from 'node:crypto';
import { networkInterfaces } from 'node:os';
import { join } from 'node:path';
import type { WebSocket } from 'ws';
import { OutsideFailure } from '../failure.ts';
import { type ConsoleState, type FromConsolePage, readOrder } from '../protocol/console.ts';
import type { LinkProgress } from '../rigs/link/link.ts';
import { monotonicMs } from '../transports/monotonic.ts';
import type { YardReading } from '../verdict/yardSession.ts';
import { openConsoleServer } from './consoleServer.ts';
import { DoorDesk } from './doorDesk.ts';
import { getReady } from './homeChecks.ts';
import { isUdpMissing } from './ladder.ts';
import { type Conclude, type Session, type SessionOrder, startSession } from './linkSession.ts';
import { networkWays } from './networkChoice.ts';
import { resultWords } from './resultWords.ts';
import type { Route } from './route.ts';
import { RunBoard } from './runBoard.ts';
import { troubleOf } from './trouble.ts';
import { saysNothing, YardDesk, type YardLaunch, type YardOptions } from './yardDesk.ts';

const TELL_EVERY_MS = 1000;
/** Certificates are kept beside the runs; the dot keeps them out of lists of runs. */
const KEEP_FOLDER = '.console';

export type ConsoleOptions = {
	readonly port: number;
	/** Of the tablets' door; 0: any free one. */
	readonly doorPort: number;
	readonly pagesFolder: string;
	readonly runsFolder: string;
	readonly toolVersion: string;
	readonly httpsPreferred: boolean;
	readonly newRunId: () => string;
	readonly conclude: Conclude;
	readonly routes: readonly Route[];
	readonly yard: YardOptions;
	/** Observed time instead of the profile's; null: the profile's. */
	readonly observedMs: number | null;
	/** Milliseconds of a clock that only goes forward; left out: this computer's. */
	readonly nowMs?: () => number;
};

/** Of a run of the yard check: small packets each way beside the picture. */
const YARD_PROBES_PER_S = 100;
type Launch = Pick<
	SessionOrder,
	'runId' | 'profile' | 'joining' | 'joined' | 'probePerSecond' | 'transport'
> &
	Pick<SessionOrder, 'place' | 'observedMs'> &
	Partial<Pick<SessionOrder, 'isUdpShut'>>;

export type Console = { readonly url: string; close(): Promise<void> };

/** Throws `OutsideFailure` when the port cannot be had. */
export async function openConsole(options: ConsoleOptions): Promise<Console> {
	const desk = new Desk(options);
	const { pagesFolder, runsFolder, routes, port } = options;
	const onPage = (socket: WebSocket): void => desk.pageCame(socket);
	const isBusy = (): boolean => desk.isBusy;
	const server = await openConsoleServer({ port, pagesFolder, runsFolder, routes, isBusy, onPage });
	return {
		url: server.url,
		async close() {
			await desk.close();
			server.close();
		},
	};
}

class Desk {
	readonly #options: ConsoleOptions;
	readonly #pages = new Set<WebSocket>();
	readonly #keepFolder: string;
	readonly #timer: ReturnType<typeof setInterval>;
	readonly #door: DoorDesk;
	readonly #yard: YardDesk;
	#session: Session | null = null;
	readonly #board = new RunBoard();
	#result: ConsoleState['result'] = null;
	#trouble: ConsoleState['trouble'] = null;
	#checks: ConsoleState['checks'] = [];
	#isBusy = false;
	/** What was last asked for on this page. */
	#asked: Extract<FromConsolePage, { type: 'start' }> | null = null;
	/** Settles when that run has ended and all is told of it. */
	#ended: Promise<void> = Promise.resolve();

	constructor(options: ConsoleOptions) {
		this.#options = options;
		this.#keepFolder = join(options.runsFolder, KEEP_FOLDER);
		this.#door = new DoorDesk({
			...{ port: options.doorPort, pagesFolder: options.pagesFolder, keepFolder: this.#keepFolder },
			sheet: () => this.#yard.sheet(),
			onChange: () => this.#tell(),
			nowMs: options.nowMs ?? monotonicMs,
		});
		const { runsFolder, toolVersion, yard } = options;
		this.#yard = new YardDesk({
			...{ runsFolder, toolVersion, newName: yard.newName },
			launch: (what) => this.#launchAtYard(what),
			stopRun: () => this.#session?.stop(),
			home: (runId) => yard.home(join(runsFolder, runId)),
			onChange: () => this.#tell(),
		});
		this.#timer = setInterval(() => this.#tell(), TELL_EVERY_MS);
	}

	/** A run, a trial or a door that is being opened. */
	get isBusy(): boolean {
		return this.#isBusy || this.#session !== null;
	}

	pageCame(socket: WebSocket): void {
		this.#pages.add(socket);
		socket.on('close', () => this.#pages.delete(socket));
		socket.on('error', () => socket.terminate());
		socket.on('message', (data, isBinary) => {
			const order = isBinary ? null : readOrder(String(data));
			if (order === null) socket.close(1008, 'not an order');
			else void this.#obey(order);
		});
		this.#tell();
	}

	async close(): Promise<void> {
		clearInterval(this.#timer);
		this.#session?.stop();
		await this.#session?.result.catch(() => {});
		this.#door.close();
	}

	async #obey(order: FromConsolePage): Promise<void> {
		try {
			if (order.type === 'stop') this.#session?.stop();
			else if (order.type === 'openDoor') await this.#alone(() => this.#openDoor(order.address, order.https));
			else if (order.type === 'yard') await this.#yard.obey(order.order);
			else if (order.type === 'useWebSocket') await this.#useWebSocket();
			else if (order.type === 'getReady') await this.#alone(() => this.#getReady());
			else this.#start(order);
		} catch (failure) {
			this.#trouble = troubleOf(failure);
		}
		this.#tell();
	}

	/** One thing at a time: two doors, or a trial beside a run, would spoil each other. */
	async #alone(work: () => Promise<void>): Promise<void> {
		if (this.isBusy)
			throw new OutsideFailure(
				'consoleBusy',
				'Something is still going on here.',
				'Wait until it has ended.',
			);
		this.#isBusy = true;
		try {
			await work();
		} finally {
			this.#isBusy = false;
		}
	}

	async #openDoor(address: string, https: boolean): Promise<void> {
		await this.#door.change(address, https);
		this.#trouble = null;
	}

	#start(order: Extract<FromConsolePage, { type: 'start' }>, isUdpShut = this.#door.udp === 'shut'): void {
		const { newRunId, conclude, observedMs } = this.#options;
		const { profile, joining, transport } = order;
		this.#asked = order;
		const place = order.place.trim() === '' ? null : order.place.trim();
		this.#result = null;
		this.#ended = this.#launch(
			{ runId: newRunId(), profile, joining, transport, place, observedMs, isUdpShut },
			conclude,
		)
			.then((result) => {
				this.#result = resultWords(result);
			})
			.catch((failure: unknown) => {
				this.#trouble = troubleOf(failure);
			});
	}

	/** The run that UDP did not let begin is left, and begun again by WebSocket. One that has seen pictures is not touched. */
	async #useWebSocket(): Promise<void> {
		const [session, asked] = [this.#session, this.#asked];
		if (session === null || asked === null || session.transport !== 'webrtc' || this.#isVideoSeen()) return;
		this.#door.streamIsUp(false);
		// The tablet's page comes anew between the runs, and with it a new trial: what this one found is why there is another run.
		const isUdpShut = this.#door.udp === 'shut';
		session.stop();
		await this.#ended;
		this.#start({ ...asked, transport: 'websocket' }, isUdpShut);
	}

	/** A run of the yard check: by the same door, with probes beside the picture; what it says is the check's to tell. */
	async #launchAtYard({ observedMs, ...what }: YardLaunch): Promise<YardReading | null> {
		const { yard, observedMs: shorter } = this.#options;
		const isHere = this.#door.open?.way.kind === 'thisComputer';
		let reading: YardReading | null = null;
		this.#asked = null;
		const order = {
			...{ ...what, observedMs: shorter ?? observedMs, probePerSecond: YARD_PROBES_PER_S },
			joining: isHere ? ('thisComputer' as const) : ('airToAccessPoint' as const),
		};
		try {
			await this.#launch(order, async (folder) => {
				const concluded = await yard.conclude(folder);
				reading = concluded.reading;
				return concluded.result;
			});
		} catch (failure) {
			if (!saysNothing(failure)) throw failure;
		}
		return reading;
	}

	#launch(what: Launch, conclude: Conclude): Session['result'] {
		const { open } = this.#door;
		if (this.isBusy || open === null)
			throw new OutsideFailure(
				'consoleBusy',
				'A run can be started only after the code is shown and while no other is on.',
				'Show the code first, or stop the run that is on.',
			);
		const { runsFolder: root, toolVersion } = this.#options;
		const { way, door, certificate: tls } = open;
		this.#trouble = null;
		this.#board.begin();
		this.#door.runBegins();
		const session = startSession(
			{
				...{ ...what, toolVersion, root, door, tls },
				startedAt: new Date().toISOString(),
				wayName: way.name,
				address: way.address,
				seed: randomBytes(4).readUInt32BE(),
				hasVideoDecoder: this.#door.able?.videoDecoder ?? null,
				isUdpShut: what.isUdpShut ?? this.#door.udp === 'shut',
			},
			conclude,
			(progress) => this.#onProgress(progress),
		);
		this.#session = session;
		return session.result.finally(() => {
			this.#session = null;
			this.#door.stepDone();
		});
	}

	#onProgress(progress: LinkProgress | { stage: 'judging' }): void {
		this.#board.take(progress);
		if (progress.stage === 'stream') this.#door.streamIsUp(progress.isUp);
		this.#tell();
	}

	async #getReady(): Promise<void> {
		const { pagesFolder, runsFolder } = this.#options;
		await getReady({ pagesFolder, runsFolder, keepFolder: this.#keepFolder }, (checks) => {
			this.#checks = checks;
			this.#tell();
		});
	}

	#tell(): void {
		if (this.#pages.size === 0) return;
		const text = JSON.stringify(this.#state());
		for (const page of this.#pages) if (page.readyState === page.OPEN) page.send(text);
	}

	#state(): ConsoleState {
		const ladder = this.#door.ladder({
			isRunOn: this.#session !== null,
			isVideoSeen: this.#isVideoSeen(),
			transport: this.#session?.transport ?? null,
		});
		return {
			type: 'state',
			httpsPreferred: this.#options.httpsPreferred,
			ways: networkWays(networkInterfaces()),
			door: this.#door.state(),
			ladder,
			offersWebSocket: isUdpMissing(ladder),
			costs: this.#door.costs(),
			run: this.#session === null ? null : this.#board.of(this.#session),
			result: this.#result,
			trouble: this.#trouble,
			checks: this.#checks,
			yard: this.#yard.state(),
		};
	}

	#isVideoSeen(): boolean {
		return (this.#session?.live().settledCount ?? 0) > 0;
	}
}
