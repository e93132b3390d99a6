/** A rectangle of whole pixels; `xPx`, `yPx` are its left and upper edge. */
export type Rect = {
	readonly xPx: number;
	readonly yPx: number;
	readonly widthPx: number;
	readonly heightPx: number;
};
