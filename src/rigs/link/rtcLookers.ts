/**
 * Those who look on over WebRTC: each has a connection and an encoder of its own at the sender, straight and past any relay. They come
 * and go without the steering viewer's connection being touched; what they cost the sender shows in the steering viewer's figures.
 */
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import type { Sender } from './sender.ts';

/** Links of lookers-on are numbered from here; the steering viewer's count from 1. */
const FIRST_LINK = 1_000_000;
/** More at once would only be a way to hold up the sender. */
const MOST = 8;

type Looker = { readonly id: number; readonly tell: (message: ToViewer) => void };

export class RtcLookers {
	readonly #sender: () => Pick<Sender, 'watch' | 'answer' | 'unwatch'> | undefined;
	readonly #byLink = new Map<number, Looker>();
	#nextLink = FIRST_LINK;

	constructor(sender: () => Pick<Sender, 'watch' | 'answer' | 'unwatch'> | undefined) {
		this.#sender = sender;
	}

	/** Asked of a link number: whether it is one of these. */
	has(link: number): boolean {
		return link >= FIRST_LINK;
	}

	/** `id`: of its socket. One that says it again is offered a new connection. */
	ready(id: number, tell: Looker['tell']): void {
		this.gone(id);
		if (this.#byLink.size >= MOST) return;
		const link = this.#nextLink++;
		this.#byLink.set(link, { id, tell });
		this.#sender()?.watch(link);
	}

	offered(link: number, sdp: string): void {
		this.#byLink.get(link)?.tell({ type: 'offer', way: 'picture', link, sdp });
	}

	/** Nobody answers for another. */
	answered(id: number, { way, link, sdp }: Extract<FromViewer, { type: 'answer' }>): void {
		if (way === 'picture' && this.#byLink.get(link)?.id === id) this.#sender()?.answer(link, sdp);
	}

	/** Its connection broke: it is offered another if it is still there. */
	lost(link: number): void {
		const looker = this.#byLink.get(link);
		if (looker !== undefined) this.ready(looker.id, looker.tell);
	}

	gone(id: number): void {
		for (const [link, looker] of this.#byLink) {
			if (looker.id !== id) continue;
			this.#byLink.delete(link);
			this.#sender()?.unwatch(link);
		}
	}
}
