/**
 * Wi-Fi channels by centre and width: numbers and frequencies both ways, what overlaps, which listen for radar. (standards.md 7:
 * numbers published; blocks and radar ranges from memory, they differ by country.)
 */

export type Band = '2.4' | '5' | '6';
/** The air that a network takes. */
export type Spectrum = { readonly centreMHz: number; readonly widthMHz: number };

/** Centre of a 20 MHz channel; null where the band has no such number. */
export function channelToMHz(band: Band, channel: number): number | null {
	if (!Number.isInteger(channel)) return null;
	if (band === '2.4')
		return channel === 14 ? 2484 : channel >= 1 && channel <= 13 ? 2407 + 5 * channel : null;
	if (band === '5') return channel >= 32 && channel <= 177 ? 5000 + 5 * channel : null;
	if (channel === 2) return 5935;
	return channel >= 1 && channel <= 233 ? 5950 + 5 * channel : null;
}

/** Band and number of a frequency; null outside the bands. */
export function mhzToChannel(mhz: number): { readonly band: Band; readonly channel: number } | null {
	if (mhz === 2484) return { band: '2.4', channel: 14 };
	if (mhz === 5935) return { band: '6', channel: 2 };
	const rows = [
		{ band: '2.4', zero: 2407, from: 2412, to: 2472 },
		{ band: '5', zero: 5000, from: 5160, to: 5885 },
		{ band: '6', zero: 5950, from: 5955, to: 7115 },
	] as const;
	for (const { band, zero, from, to } of rows) {
		const channel = (mhz - zero) / 5;
		if (mhz >= from && mhz <= to && Number.isInteger(channel)) return { band, channel };
	}
	return null;
}

/**
 * What a network on a 20 MHz channel takes when it is wider. In 5 and 6 GHz the blocks are fixed; in 2.4 GHz 40 MHz lies above or
 * below, and is taken as above for low channels where nothing else is known. Null where the band has no such block.
 */
export function blockOf(band: Band, channel: number, widthMHz: number): Spectrum | null {
	const mhz = channelToMHz(band, channel);
	if (mhz === null) return null;
	if (widthMHz <= 22) return { centreMHz: mhz, widthMHz };
	if (band === '2.4')
		return widthMHz === 40 ? { centreMHz: mhz + (channel <= 7 ? 10 : -10), widthMHz } : null;
	if (![40, 80, 160, 320].includes(widthMHz)) return null;
	// Blocks count from the lower edge of the first channel: 36 and 149 in 5 GHz (132 ends a run from 100), 1 in 6 GHz.
	const first = band === '6' ? 1 : channel >= 149 ? 149 : channel >= 100 ? 100 : 36;
	const channelsWide = widthMHz / 5;
	const place = Math.floor((channel - first) / channelsWide);
	const lowest = first + place * channelsWide;
	if (place < 0) return null;
	const lowestMHz = channelToMHz(band, lowest);
	return lowestMHz === null ? null : { centreMHz: lowestMHz - 10 + widthMHz / 2, widthMHz };
}

/** Edges that only touch do not overlap. */
export function overlaps(a: Spectrum, b: Spectrum): boolean {
	return Math.abs(a.centreMHz - b.centreMHz) < (a.widthMHz + b.widthMHz) / 2;
}

/** Ranges in which an access point must fall silent when it hears radar; from memory, they differ by country. */
const RADAR_MHZ = [
	[5250, 5350],
	[5470, 5725],
] as const;

export function meetsRadar({ centreMHz, widthMHz }: Spectrum): boolean {
	const [from, to] = [centreMHz - widthMHz / 2, centreMHz + widthMHz / 2];
	return RADAR_MHZ.some(([low, high]) => from < high && to > low);
}

/** Loss over free ground, dB: 20 log10(d) + 20 log10(f) - 27.55 with metres and MHz. Walls, horses and wet hay come on top. */
export function freeSpaceLossDb(metres: number, mhz: number): number {
	if (!(metres > 0 && mhz > 0)) throw new RangeError(`distance and frequency above 0, got ${metres}, ${mhz}`);
	return 20 * Math.log10(metres) + 20 * Math.log10(mhz) - 27.5522;
}
