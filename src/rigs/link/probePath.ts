/**
 * The probe beside the picture, from the bench's side: offers and answers between its process and the viewer, a relay of its
 * own where an air is asked for, and what both ends saw joined into packets of two ways.
 */
import type { ProbePacket, ProbeWay } from '../../observations/probes.ts';
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import { monotonicMs } from '../../transports/monotonic.ts';
import type { Probe, ProbeEvents } from '../../transports/probe.ts';
import { withOneCandidate } from '../../transports/sdpText.ts';
import type { UdpRelay } from '../../transports/udpRelay.ts';
import { ProbeLedger } from './probeLedger.ts';

const AGAIN_AFTER_MS = 500;

type Told<Kind extends FromViewer['type']> = Extract<FromViewer, { type: Kind }>;

export type WayPackets = { readonly way: ProbeWay; readonly packets: ProbePacket[] };

export type ProbePathParts = {
	readonly probe: () => Pick<Probe, 'join' | 'answer'> | null | undefined;
	readonly relay: () => Pick<UdpRelay, 'renew' | 'senderSide' | 'viewerSide'> | null | undefined;
	readonly send: (message: ToViewer) => void;
	readonly event: (code: string, detail: string) => void;
};

export class ProbePath {
	readonly #parts: ProbePathParts;
	readonly #toViewer: ProbeLedger;
	readonly #toBench: ProbeLedger;
	#link = 0;
	/** The loaded page that the connection is with; one that only lost its control socket keeps its probe. */
	#page: string | undefined;
	#isUp = false;
	#isWanted = false;
	/** What is on the viewer's side cannot be told of for now, and is not lost by that. */
	#isHeld = false;
	#timer: NodeJS.Timeout | undefined;

	constructor(parts: ProbePathParts, lostAfterMs: number) {
		this.#parts = parts;
		this.#toViewer = new ProbeLedger(lostAfterMs);
		this.#toBench = new ProbeLedger(lostAfterMs);
	}

	/** What the probe's process says. */
	get events(): Omit<ProbeEvents, 'gone'> {
		return {
			offer: (link, sdp) => {
				const relay = this.#parts.relay();
				const told = relay == null ? sdp : withOneCandidate(sdp, relay.viewerSide);
				if (link === this.#link) this.#parts.send({ type: 'offer', way: 'probe', link, sdp: told });
			},
			connected: (link) => {
				if (link === this.#link) this.#isUp = true;
			},
			lost: (link, why) => {
				if (link !== this.#link) return;
				this.#isUp = false;
				if (!this.#isWanted) return;
				this.#parts.event('probeStreamLost', why);
				this.#timer = setTimeout(() => this.#join(), AGAIN_AFTER_MS);
			},
			probed: ({ sent, got }) => {
				this.#toViewer.sent(sent, monotonicMs());
				this.#toBench.got(got);
			},
		};
	}

	/** `page`: which loaded page, where it says so. To another one, what was on its way is of no more use. */
	viewerReady(page: string | undefined): void {
		const isSame = page !== undefined && page === this.#page;
		this.#page = page;
		this.#isWanted = true;
		this.#isHeld = false;
		if (!isSame) {
			this.#toViewer.clear();
			this.#toBench.clear();
		}
		if (!(isSame && this.#isUp)) this.#join();
	}

	/** The viewer's socket is away, its page may come back with what it got. */
	viewerAway(): void {
		this.#isHeld = true;
	}

	answered({ link, sdp }: Told<'answer'>): void {
		if (link !== this.#link) return;
		const relay = this.#parts.relay();
		this.#parts.probe()?.answer(link, relay == null ? sdp : withOneCandidate(sdp, relay.senderSide));
	}

	probed({ sent, got }: Told<'probed'>, heardMs: number): void {
		this.#toBench.sent(sent, heardMs);
		this.#toViewer.got(got);
	}

	/** What has settled since the last call. */
	take(nowMs: number): WayPackets[] {
		return this.#isHeld ? [] : ofBoth(this.#toViewer.take(nowMs), this.#toBench.take(nowMs));
	}

	/** The segment ends. `silent`: the viewer tells nothing any more. */
	takeAll(nowMs: number, silent: boolean): WayPackets[] {
		return ofBoth(this.#toViewer.takeAll(nowMs, silent), this.#toBench.takeAll(nowMs, silent));
	}

	/** The run ends: what is lost from now on is no news. */
	close(): void {
		this.#isWanted = false;
		clearTimeout(this.#timer);
	}

	#join(): void {
		clearTimeout(this.#timer);
		if (!this.#isWanted) return;
		this.#isUp = false;
		this.#link++;
		this.#parts.relay()?.renew();
		this.#parts.probe()?.join(this.#link);
	}
}

function ofBoth(toViewer: readonly ProbePacket[][], toBench: readonly ProbePacket[][]): WayPackets[] {
	return [
		...toViewer.map((packets) => ({ way: 'toViewer' as const, packets })),
		...toBench.map((packets) => ({ way: 'toBench' as const, packets })),
	];
}
