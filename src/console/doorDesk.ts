/**
 * The door for tablets as the console holds it: which network, which code, and how far the tablet has come. A new choice
 * of network closes the old door; who was let in by it is out.
 */
import { randomBytes } from 'node:crypto';
import { networkInterfaces } from 'node:os';
import { encode } from 'uqr';
import { OutsideFailure } from '../failure.ts';
import type { ConsoleState } from '../protocol/console.ts';
import { monotonicMs } from '../transports/monotonic.ts';
import { type KeptCertificate, keepCertificate } from './certificate.ts';
import { costsOf, ladderSteps } from './ladder.ts';
import { type NetworkWay, networkWays } from './networkChoice.ts';
import { Pairing } from './pairing.ts';
import { type Able, type DoorEvents, openTabletDoor, type TabletDoor } from './tabletDoor.ts';

type DoorMeans = {
	/** 0: any free one. */
	readonly port: number;
	readonly pagesFolder: string;
	/** Where the certificate is kept. */
	readonly keepFolder: string;
	readonly onChange: () => void;
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
	#sinceMs = monotonicMs();

	constructor(means: DoorMeans) {
		this.#means = means;
	}

	get open(): OpenDoor | null {
		return this.#open;
	}

	/** What a waiting page said that it can do; null before one came. */
	get able(): Able | null {
		return this.#able;
	}

	/** How long the next step of the way here has been waited for. */
	get waitedMs(): number {
		return monotonicMs() - this.#sinceMs;
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
		const { port, pagesFolder, keepFolder } = this.#means;
		const named = ways.map((one) => one.address);
		const certificate = https ? await keepCertificate(keepFolder, named, Date.now()) : null;
		const pairing = new Pairing({ nowMs: monotonicMs, randomBytes });
		const options = { address, port, pagesFolder, tls: certificate, pairing };
		this.#able = null;
		this.#wasPageServed = false;
		this.#waitingCount = 0;
		this.#refused = null;
		this.#sinceMs = monotonicMs();
		this.#open = { way, pairing, certificate, door: await openTabletDoor(options, this.#events()) };
	}

	/** A step of the way here is done, or waiting begins anew. */
	stepDone(): void {
		this.#sinceMs = monotonicMs();
		this.#refused = null;
		this.#means.onChange();
	}

	close(): void {
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
		};
	}

	ladder({ isRunOn, isVideoSeen, transport }: RunSoFar): ConsoleState['ladder'] {
		if (this.#open === null) return [];
		return ladderSteps({
			waitedMs: this.waitedMs,
			https: this.#open.certificate !== null,
			isPaired: this.#open.pairing.pairedCount > 0,
			wasPageServed: this.#wasPageServed,
			isSocketOpen: this.#waitingCount > 0 || (isRunOn && this.#able !== null),
			// No picture comes over WebRTC but by UDP, and none is asked for before a run.
			isUdpOpen: transport === 'websocket' ? null : isVideoSeen,
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
			able: (able) => {
				this.#able = able;
				this.stepDone();
			},
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
