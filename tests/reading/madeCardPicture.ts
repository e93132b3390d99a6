/** The printed card as a scope might see it: turned, tilted, bent by the lens, in a round field, with noise; the truth is given by the arguments. */
import { decodeSrgb, encodeSrgb } from '../../src/colour/srgbTransfer.ts';
import { createRaster, type Raster } from '../../src/imaging/raster.ts';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM } from '../../src/pattern/detailCard.ts';
import { drawDetailCard } from '../../src/pattern/detailRaster.ts';
import { createRandom } from '../../src/statistics/random.ts';

export type View = {
	readonly widthPx: number;
	readonly heightPx: number;
	readonly pxPerMm: number;
	readonly turnDeg?: number;
	/** Perspective: how much nearer one side is, as a share over the card's half width. */
	readonly tilt?: number;
	/** k1 at the picture's corner. */
	readonly bend?: number;
	readonly mirrored?: boolean;
	/** Dark outside of a circle that touches the picture's upper and lower side. */
	readonly round?: boolean;
	readonly noiseCodes?: number;
	readonly seed?: number;
	readonly gain?: readonly [number, number, number];
	/** Card's middle from the picture's, as a share of the height. */
	readonly off?: number;
	/** Points a pixel is taken at, each way. */
	readonly points?: number;
};

const SOURCE_PX_PER_MM = 16;
const CODES = Float32Array.from({ length: 65_536 }, (_, i) => encodeSrgb(i / 65_535));
let source: { readonly widthPx: number; readonly heightPx: number; readonly light: Float32Array } | null =
	null;

function cardLight() {
	if (source !== null) return source;
	const { widthPx, heightPx, rgba } = drawDetailCard(SOURCE_PX_PER_MM);
	const table = Float32Array.from({ length: 256 }, (_, code) => decodeSrgb(code));
	const light = new Float32Array(widthPx * heightPx * 3);
	for (let at = 0; at < widthPx * heightPx; at++)
		for (let c = 0; c < 3; c++) light[3 * at + c] = table[rgba[4 * at + c]!]!;
	source = { widthPx, heightPx, light };
	return source;
}

export function cardPicture(view: View): Raster {
	const { widthPx, heightPx, gain = [1, 1, 1], noiseCodes = 0, round = false, points = 2 } = view;
	const raster = createRaster(widthPx, heightPx);
	const random = createRandom(view.seed ?? 17);
	const toCard = cardPlaceOf(view);
	for (let row = 0; row < heightPx; row++)
		for (let column = 0; column < widthPx; column++) {
			const at = 4 * (row * widthPx + column);
			const sums: [number, number, number] = [0, 0, 0];
			const outside = round && Math.hypot(column - widthPx / 2, row - heightPx / 2) > heightPx / 2;
			for (let i = 0; i < points * points && !outside; i++)
				addLight(
					sums,
					toCard(
						column + ((i % points) + 0.5) / points - 0.5,
						row + (Math.floor(i / points) + 0.5) / points - 0.5,
					),
				);
			for (let c = 0; c < 3; c++)
				raster.rgba[at + c] =
					CODES[Math.min(65_535, Math.round(65_535 * (sums[c]! / points ** 2) * gain[c]!))]! +
					(noiseCodes === 0 ? 0 : noiseCodes * random.normal());
		}
	return raster;
}

/** Table round the card: a middle grey. */
const TABLE_LIGHT = 0.25;

function addLight(sums: [number, number, number], { x, y }: { x: number; y: number }): void {
	const { widthPx, heightPx, light } = cardLight();
	if (x < 0 || y < 0 || x >= CARD_WIDTH_MM || y >= CARD_HEIGHT_MM) {
		for (let c = 0; c < 3; c++) sums[c]! += TABLE_LIGHT;
		return;
	}
	const column = Math.min(widthPx - 1, Math.floor(x * SOURCE_PX_PER_MM));
	const row = Math.min(heightPx - 1, Math.floor(y * SOURCE_PX_PER_MM));
	const at = 3 * (row * widthPx + column);
	for (let c = 0; c < 3; c++) sums[c]! += light[at + c]!;
}

/** From a pixel to millimetres on the card. */
export function cardPlaceOf({
	widthPx,
	heightPx,
	pxPerMm,
	turnDeg = 0,
	tilt = 0,
	bend = 0,
	mirrored = false,
	off = 0,
}: View) {
	const half = Math.hypot(widthPx, heightPx) / 2;
	const cosine = Math.cos((turnDeg * Math.PI) / 180);
	const sine = Math.sin((turnDeg * Math.PI) / 180);
	return (xPx: number, yPx: number): { x: number; y: number } => {
		let u = (xPx - (widthPx - 1) / 2) / half;
		let v = (yPx - (heightPx - 1) / 2) / half;
		const seen = Math.hypot(u, v);
		let straight = seen;
		for (let turn = 0; turn < 8 && bend !== 0; turn++)
			straight -= (straight * (1 + bend * straight ** 2) - seen) / (1 + 3 * bend * straight ** 2);
		if (seen > 0) [u, v] = [(u * straight) / seen, (v * straight) / seen];
		v -= (off * heightPx) / half;
		let x = ((cosine * u + sine * v) * half) / pxPerMm;
		let y = ((-sine * u + cosine * v) * half) / pxPerMm;
		// Seen through a pinhole: what is nearer is larger.
		const w = 1 - (tilt * x) / (CARD_WIDTH_MM / 2);
		[x, y] = [x / w, y / w];
		return { x: CARD_WIDTH_MM / 2 + (mirrored ? -x : x), y: CARD_HEIGHT_MM / 2 + y };
	};
}
