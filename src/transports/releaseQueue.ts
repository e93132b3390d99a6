/**
 * Packets that wait for their instants, in the order of their release, which need not be the order of their coming. Two of one
 * instant leave as they came.
 */
export class ReleaseQueue<Packet extends { readonly plannedMs: number }> {
	readonly #waiting: Packet[] = [];

	/** When the next is due; null: none waits. */
	get nextMs(): number | null {
		return this.#waiting[0]?.plannedMs ?? null;
	}

	insert(packet: Packet): void {
		let at = this.#waiting.length;
		while (at > 0 && (this.#waiting[at - 1]?.plannedMs ?? 0) > packet.plannedMs) at--;
		this.#waiting.splice(at, 0, packet);
	}

	/** The next, if it is due by `nowMs`. */
	takeDue(nowMs: number): Packet | null {
		const nextMs = this.nextMs;
		return nextMs !== null && nextMs <= nowMs ? (this.#waiting.shift() ?? null) : null;
	}
}
