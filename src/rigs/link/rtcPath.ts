/**
 * The picture's way over WebRTC, from the bench's side: offers and answers between the sender's process and the viewer, the
 * relay's addresses put in their place where an air is asked for, a lost connection offered anew, and the wait until the
 * viewer's jitter buffer is at rest.
 */
import type { StreamCountsRow } from '../../observations/records.ts';
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import { withOneCandidate } from '../../transports/sdpText.ts';
import type { UdpRelay } from '../../transports/udpRelay.ts';
import { BufferWatch, tellBuffer } from './bufferWatch.ts';
import type { Sender } from './sender.ts';

const AGAIN_AFTER_MS = 500;

type Answer = Extract<FromViewer, { type: 'answer' }>;

export type RtcPathParts = {
	readonly sender: () => Pick<Sender, 'join' | 'answer' | 'leave'> | undefined;
	readonly relay: () => Pick<UdpRelay, 'renew' | 'senderSide' | 'viewerSide'> | null | undefined;
	readonly send: (message: ToViewer) => void;
	readonly event: (code: string, detail: string) => void;
};

export class RtcPath {
	readonly #parts: RtcPathParts;
	readonly #buffer = new BufferWatch();
	#link = 0;
	/** The loaded page that the connection is with; a page that only lost its control socket keeps its picture. */
	#page: string | undefined;
	#isUp = false;
	#isWanted = false;
	#bufferTold = false;
	#timer: NodeJS.Timeout | undefined;

	constructor(parts: RtcPathParts) {
		this.#parts = parts;
	}

	/** Whether the first segment may begin. */
	get isAtRest(): boolean {
		return this.#buffer.state !== null;
	}

	/** What the jitter buffer holds pictures for while its rest is waited for; null: nothing is waited for, or it is not known. */
	get restlessMs(): number | null {
		return this.isAtRest ? null : this.#buffer.heldMs;
	}

	/** The viewer is ready for pictures. `page`: which loaded page, where it says so. */
	viewerReady(page: string | undefined): void {
		this.#isWanted = true;
		const isSame = page !== undefined && page === this.#page;
		this.#page = page;
		if (!(isSame && this.#isUp)) this.#join();
	}

	offered(link: number, sdp: string): void {
		if (link !== this.#link) return;
		const relay = this.#parts.relay();
		const told = relay == null ? sdp : withOneCandidate(sdp, relay.viewerSide);
		this.#parts.send({ type: 'offer', way: 'picture', link, sdp: told });
	}

	answered({ link, sdp }: Answer): void {
		if (link !== this.#link) return;
		const relay = this.#parts.relay();
		this.#parts.sender()?.answer(link, relay == null ? sdp : withOneCandidate(sdp, relay.senderSide));
	}

	connected(link: number): void {
		if (link === this.#link) this.#isUp = true;
	}

	/** Pictures that are lost meanwhile are lost: the segment goes on. */
	lost(link: number, why: string): void {
		if (link !== this.#link) return;
		this.#isUp = false;
		if (!this.#isWanted) return;
		this.#parts.event('streamLost', why);
		this.#timer = setTimeout(() => this.#join(), AGAIN_AFTER_MS);
	}

	viewerCounts(rows: readonly StreamCountsRow[]): void {
		this.#buffer.add(rows);
		const { state } = this.#buffer;
		if (state === null || this.#bufferTold) return;
		this.#bufferTold = true;
		this.#parts.event(state.kind === 'atRest' ? 'bufferAtRest' : 'bufferNotAtRest', tellBuffer(state));
	}

	/** The viewer left and keeps nothing: no picture is encoded for nobody. */
	viewerGone(): void {
		this.#isWanted = false;
		this.#isUp = false;
		this.#parts.sender()?.leave();
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
		this.#parts.sender()?.join(this.#link);
	}
}
