/**
 * Draws the optical card at each refresh, the pixels that `card --tick` writes, cut down the middle: the scope's marker on one canvas, the phone's on
 * the other, so that a sleeve about the tip need not cover both. Only the markers change after the first frame.
 */
import type { CardSpec } from '../../pattern/card.ts';
import { cardSizePx } from '../../pattern/geometry.ts';
import { markerPlaces } from '../../pattern/markerCard.ts';
import { createCardPainter } from '../../pattern/painter.ts';
import { createRefreshClock, judgeRefresh } from './refreshClock.ts';

const MEASURE_STAMPS = 150;

export type Measured = { readonly rateHz: number; readonly missedRatio: number };

/** Watches the animation clock for some two seconds; throws `RangeError` with why, where the screen has no steady refresh. */
export async function measureRefresh(): Promise<Measured> {
	const stamps: number[] = [];
	while (stamps.length < MEASURE_STAMPS) {
		const stamp = await new Promise<number>(requestAnimationFrame);
		if (stamps.length === 0 || stamp > stamps.at(-1)!) stamps.push(stamp);
	}
	const seen = judgeRefresh(stamps);
	if (seen.kind === 'steady') return { rateHz: 1000 / seen.periodMs, missedRatio: seen.missedRatio };
	throw new RangeError(
		seen.kind === 'unsteady' && seen.why === 'slow'
			? 'This computer misses too many of its screen’s refreshes. Close other programs and windows, plug in its power, and measure again.'
			: 'This screen does not refresh at one steady rate. Switch variable (adaptive) refresh off in the display settings, choose a fixed rate such as 60 Hz, and measure again.',
	);
}

export type RunningCard = {
	readonly seen: () => { readonly refreshes: number; readonly missed: number; readonly rateHz: number };
	stop(): void;
};

export type Halves = { readonly left: HTMLCanvasElement; readonly right: HTMLCanvasElement };

/** Draws until stopped, or until the refresh leaves its grid, which is told. */
export function runCard(
	{ left, right }: Halves,
	{ spec, rateHz }: { readonly spec: CardSpec; readonly rateHz: number },
	onLost: () => void,
): RunningCard {
	const { widthPx, heightPx } = cardSizePx(spec.size);
	const halfPx = widthPx / 2;
	const contexts = [left, right].map((canvas) => contextOf(canvas, halfPx, heightPx));
	const painter = createCardPainter(spec);
	// The painter keeps one raster and paints over it; made with `new`, so its buffer is no shared one.
	const image = new ImageData(painter.paint(0).rgba as Uint8ClampedArray<ArrayBuffer>, widthPx, heightPx);
	const places = markerPlaces(spec).map(({ rect }) => rect);
	const clock = createRefreshClock(1000 / rateHz, 0);
	let running = true;
	let drawnTick = -1;

	function draw(stampMs: number): void {
		if (!running) return;
		const tick = clock.tickAt(stampMs);
		if (tick !== drawnTick) {
			painter.paint(tick);
			for (const [half, context] of contexts.entries()) {
				const atPx = -half * halfPx;
				if (drawnTick < 0) context.putImageData(image, atPx, 0);
				else
					for (const { xPx, yPx, widthPx: width, heightPx: height } of places)
						context.putImageData(image, atPx, 0, xPx, yPx, width, height);
			}
			drawnTick = tick;
			left.dataset['tick'] = `${tick}`;
		}
		if (clock.lost()) {
			running = false;
			onLost();
			return;
		}
		requestAnimationFrame(draw);
	}
	requestAnimationFrame(draw);
	return {
		seen: () => {
			const { refreshes, missed, periodMs } = clock.seen();
			return { refreshes, missed, rateHz: 1000 / periodMs };
		},
		stop: () => {
			running = false;
		},
	};
}

function contextOf(canvas: HTMLCanvasElement, widthPx: number, heightPx: number): CanvasRenderingContext2D {
	canvas.width = widthPx;
	canvas.height = heightPx;
	const context = canvas.getContext('2d', { alpha: false, desynchronized: false });
	if (context === null) throw new TypeError('this canvas gives no 2d context');
	return context;
}
