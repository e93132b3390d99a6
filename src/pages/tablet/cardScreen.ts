/**
 * Draws the newest decoded frame at each refresh. *Presented* means: drawn in the animation callback, so handed to the
 * display for its next refresh; the light itself leaves up to one refresh later, which the bench carries as a one-sided
 * systematic. Of two frames decoded within one refresh the older is never drawn.
 */
import type { Picture } from '../../media/web/framePlanes.ts';
import type { SeenLog, SeenRow } from './seenLog.ts';

export class CardScreen {
	readonly #context: CanvasRenderingContext2D;
	readonly #log: SeenLog;
	#waiting: { frame: Picture; row: SeenRow } | null = null;
	#running = true;
	#covered = false;

	constructor(canvas: HTMLCanvasElement, size: { widthPx: number; heightPx: number }, log: SeenLog) {
		canvas.width = size.widthPx;
		canvas.height = size.heightPx;
		const context = canvas.getContext('2d', { alpha: false, desynchronized: false });
		if (context === null) throw new TypeError('this canvas gives no 2d context');
		this.#context = context;
		this.#log = log;
		requestAnimationFrame(this.#draw);
	}

	/** Takes over the frame. */
	offer(frame: Picture, row: SeenRow): void {
		this.#dropWaiting();
		if (this.#covered) {
			row.presentedMs = null;
			frame.close();
		} else this.#waiting = { frame, row };
	}

	/** Nothing is drawn while covered: the flash rule is not kept at this size. */
	cover(covered: boolean): void {
		this.#covered = covered;
		if (!covered) return;
		this.#dropWaiting();
		this.#context.fillRect(0, 0, this.#context.canvas.width, this.#context.canvas.height);
	}

	stop(): void {
		this.#running = false;
		this.#dropWaiting();
	}

	#dropWaiting(): void {
		if (this.#waiting === null) return;
		this.#waiting.row.presentedMs = null;
		this.#waiting.frame.close();
		this.#waiting = null;
	}

	readonly #draw = (): void => {
		if (!this.#running) return;
		const waiting = this.#waiting;
		this.#waiting = null;
		if (waiting !== null) {
			const { width, height } = this.#context.canvas;
			// A sender short of bits may send smaller pictures.
			this.#context.drawImage(waiting.frame, 0, 0, width, height);
			this.#log.markDrawn(waiting.row, performance.now());
			waiting.frame.close();
		}
		requestAnimationFrame(this.#draw);
	};
}
