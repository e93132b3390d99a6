/**
 * Correlated colour temperature from chromaticity, by McCamy's cubic (Color Research and Application 17:142-144, 1992).
 * Meant for whites near daylight and lamps; for a strong tint it returns a number that means nothing.
 */
import type { Chromaticity } from './chromaticity.ts';

/** Kelvin. */
export function colourTemperatureK([x, y]: Chromaticity): number {
	const n = (x - 0.332) / (y - 0.1858);
	return -449 * n ** 3 + 3525 * n ** 2 - 6823.3 * n + 5520.33;
}
