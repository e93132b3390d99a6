/** Where the scope's tip must be for the marker to fill a third of its picture's width: a pinhole's geometry, no lens bend. */

const SHARE = 1 / 3;

/** Millimetres from tip to screen. Throws `RangeError` for a size that is not positive or an angle that is none. */
export function tipDistanceMm(markerMm: number, fieldOfViewDeg: number): number {
	if (!(markerMm > 0 && fieldOfViewDeg > 0 && fieldOfViewDeg < 180))
		throw new RangeError(
			`no distance for a marker of ${markerMm} mm and a view of ${fieldOfViewDeg} degrees`,
		);
	return markerMm / SHARE / 2 / Math.tan((fieldOfViewDeg * Math.PI) / 360);
}
