/**
 * The door for tablets as the console holds it: which network, which code, and how far the tablet has come. A new choice
 * of network closes the old door; who was let in by it is out.
 */
import { randomBytes } from 'node:crypto';
import { networkInterfaces } from 'node:os';
import { encode } from 'uqr';
import { OutsideFailure } from '../failure.ts';
import type { ConsoleState } from '../protocol/console.ts';
import { startProbe } from '../transports/probe.ts';
import { type KeptCertificate, keepCertificate } from './certificate.ts';
import { costsOf, ladderSteps, NO_TABLET_AFTER_MS, noTabletWords } from './ladder.ts';
import { type NetworkWay, networkWays } from './networkChoice.ts';
import { Pairing } from './pairing.ts';
import { type Able, type DoorEvents, openTabletDoor, type TabletDoor } from './tabletDoor.ts';
import { type UdpState, UdpTrial } from './udpTrial.ts';

type DoorMeans = {
	/** 0: any free one. */
	readonly port: number;
	readonly pagesFolder: string;
	readonly sheet: () => string | null;
	/** Where the certificate is kept. */
	readonly keepFolder: string;
	readonly onChange: () => void;
	/** Milliseconds of a clock that only goes forward. */
	readonly nowMs: () => number;
};

type RunSoFar = {
	readonly isRunOn: boolean;
	readonly isVideoSeen: boolean;
	/** Null before a run. */
	readonly transport: 'webrtc' | 'websocket' | null;
};

export type OpenDoor = {
	readonly way: NetworkWay;
	readonly door: TabletDoor;
	readonly pairing: Pairing;
	readonly certificate: KeptCertificate | null;
};

export class DoorDesk {
	readonly #means: DoorMeans;
	#open: OpenDoor | null = null;
	#able: Able | null = null;
	#wasPageServed = false;
	#waitingCount = 0;
	#refused: string | null = null;
	#sinceMs: number;
	readonly #udp: UdpTrial;

	constructor(means: DoorMeans) {
		this.#means = means;
		this.#sinceMs = means.nowMs();
		const host = (): string | null => this.#open?.way.address ?? null;
		this.#udp = new UdpTrial({ host, start: startProbe, onChange: means.onChange });
	}

	get open(): OpenDoor | null {
		return this.#open;
	}

	/** What a waiting page said that it can do; null before one came. */
	get able(): Able | null {
		return this.#able;
	}

	get udp(): UdpState {
		return this.#udp.state;
	}

	/** A run of its own tries the way, and no trial beside it. */
	runBegins(): void {
		this.#udp.stop();
		this.stepDone();
	}

	/** The run's connection stands, or was refused; a run's later losses are the air's, and no step of the way here. */
	streamIsUp(isUp: boolean): void {
		if (isUp || this.#udp.state !== 'open') this.#udp.seen(isUp);
	}

	#waitedMs(): number {
		return this.#means.nowMs() - this.#sinceMs;
	}

	/** Throws `OutsideFailure` `networkGone` or what opening a port says. */
	async change(address: string, https: boolean): Promise<void> {
		const ways = networkWays(networkInterfaces());
		const way = ways.find((one) => one.address === address);
		if (way === undefined)
			throw new OutsideFailure(
				'networkGone',
				`This computer has no address ${address} now.`,
				'Choose from the list again.',
			);
		this.close();
		const { port, pagesFolder, keepFolder, sheet } = this.#means;
		const named = ways.map((one) => one.address);
		const certificate = https ? await keepCertificate(keepFolder, named, Date.now()) : null;
		const pairing = new Pairing({ nowMs: this.#means.nowMs, randomBytes });
		const options = { address, port, pagesFolder, sheet, tls: certificate, pairing };
		this.#able = null;
		this.#wasPageServed = false;
		this.#waitingCount = 0;
		this.#refused = null;
		this.#udp.forget();
		this.#sinceMs = this.#means.nowMs();
		this.#open = { way, pairing, certificate, door: await openTabletDoor(options, this.#events()) };
	}

	/** A step of the way here is done, or waiting begins anew. */
	stepDone(): void {
		this.#sinceMs = this.#means.nowMs();
		this.#refused = null;
		this.#means.onChange();
	}

	close(): void {
		this.#udp.stop();
		this.#open?.door.close();
		this.#open = null;
	}

	state(): ConsoleState['door'] {
		if (this.#open === null) return null;
		const { way, door, pairing, certificate } = this.#open;
		const pairUrl = door.pairUrl();
		const { data } = encode(pairUrl, { ecc: 'M', border: 2 });
		return {
			address: way.address,
			https: certificate !== null,
			fingerprint: certificate?.fingerprint ?? null,
			certificateFile: certificate?.file ?? null,
			pairUrl,
			code: pairing.code,
			qr: data.map((row) => row.map((dark) => (dark ? '1' : '0')).join('')),
			pairedCount: pairing.pairedCount,
			waitingCount: this.#waitingCount,
			refused: this.#refused,
			advice: !this.#wasPageServed && this.#waitedMs() > NO_TABLET_AFTER_MS ? noTabletWords(way.address) : [],
		};
	}

	ladder({ isRunOn, isVideoSeen, transport }: RunSoFar): ConsoleState['ladder'] {
		if (this.#open === null) return [];
		return ladderSteps({
			waitedMs: this.#waitedMs(),
			https: this.#open.certificate !== null,
			isPaired: this.#open.pairing.pairedCount > 0,
			wasPageServed: this.#wasPageServed,
			isSocketOpen: this.#waitingCount > 0 || (isRunOn && this.#able !== null),
			udp: transport === 'websocket' ? 'notNeeded' : isVideoSeen ? 'open' : this.#udp.state,
			isRunOn,
			isVideoSeen,
		});
	}

	/** What the tablet's browser lacks over this way, and what that costs. */
	costs(): string[] {
		return this.#able === null ? [] : costsOf(this.#able);
	}

	#events(): DoorEvents {
		return {
			paired: () => this.stepDone(),
			page: () => {
				this.#wasPageServed = true;
				this.stepDone();
			},
			able: (able, tell) => {
				this.#able = able;
				this.stepDone();
				void this.#udp.begin(able.webrtc, tell);
			},
			answered: (answer) => this.#udp.answered(answer),
			waiting: (count) => {
				this.#waitingCount = count;
				this.#means.onChange();
			},
			refused: (reason) => {
				this.#refused = reason;
				this.#means.onChange();
			},
		};
	}
}
