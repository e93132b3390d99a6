/**
 * Advice on the channel, each with its reason. It is advice only: how strong a network is says nothing of whether the picture may
 * be steered by, so no sentence here is a verdict and none comes from signal strength alone.
 */
import { type Band, blockOf, channelToMHz, meetsRadar, overlaps, type Spectrum } from './channels.ts';
import type { HeardNetwork } from './iwText.ts';

export type OwnChannel = { readonly band: Band; readonly channel: number; readonly takes: Spectrum };
export type Advice = { readonly code: string; readonly seen: string; readonly advice: string };

/** Above half busy a channel has little room for retries; common practice, no source. */
const BUSY_RATIO = 0.5;
const USUAL_CHANNELS: Readonly<Record<Band, readonly number[]>> = {
	'2.4': [1, 6, 11],
	'5': [36, 40, 44, 48, 149, 153, 157, 161],
	'6': [5, 21, 37, 53, 69, 85],
};

/** `own` as typed or read; `heard` without our own network. */
export function adviseOnChannel(own: OwnChannel, heard: readonly HeardNetwork[] | null): Advice[] {
	return [...ofPlace(own), ...(heard === null ? [notHeard()] : ofNeighbours(own, heard))];
}

function ofPlace({ band, takes }: OwnChannel): Advice[] {
	const found: Advice[] = [];
	if (meetsRadar(takes))
		found.push({
			code: 'radar',
			seen: `${words(takes)} is one of the radar channels: an access point must leave it, and may be silent for a minute, when it hears radar (ranges from memory; they differ by country)`,
			advice: 'Set the network to one of channels 36 to 48 before the exam.',
		});
	if (band === '2.4' && takes.widthMHz > 22)
		found.push({
			code: 'wide24',
			seen: `${takes.widthMHz} MHz in 2.4 GHz takes most of that band`,
			advice: 'Set the width to 20 MHz.',
		});
	if (band === '2.4')
		found.push({
			code: 'band24',
			seen: '2.4 GHz is shared with microwave ovens, baby monitors and many other radios (common practice, no source)',
			advice: 'If kit and tablet can use 5 GHz, try it and run again: the runs decide, not the band.',
		});
	return found;
}

function ofNeighbours(own: OwnChannel, heard: readonly HeardNetwork[]): Advice[] {
	const sharing = heard.filter(({ takes }) => overlaps(takes, own.takes));
	const found: Advice[] = [];
	if (sharing.length > 0) {
		const partly = sharing.filter(({ takes }) => takes.centreMHz !== own.takes.centreMHz).length;
		found.push({
			code: 'overlap',
			seen: `${sharing.length} other network${sharing.length === 1 ? '' : 's'} heard in the same air${partly > 0 ? `, ${partly} of them only partly in step with ours (they do not wait for us, nor we for them)` : ''}`,
			advice: freer(own, heard),
		});
	}
	const busy = sharing.filter(({ busyRatio }) => (busyRatio ?? 0) > BUSY_RATIO);
	if (busy.length > 0)
		found.push({
			code: 'busy',
			seen: `an access point in the same air counts its channel busy ${Math.round(100 * Math.max(...busy.map(({ busyRatio }) => busyRatio ?? 0)))} % of the time (over ${100 * BUSY_RATIO} %: common practice, no source)`,
			advice: freer(own, heard),
		});
	return found;
}

/** The usual channel of the same band with the least company; no change where none is better. */
function freer(own: OwnChannel, heard: readonly HeardNetwork[]): string {
	const company = (takes: Spectrum): number => heard.filter((other) => overlaps(other.takes, takes)).length;
	const options = USUAL_CHANNELS[own.band].flatMap((channel) => {
		const takes = blockOf(own.band, channel, Math.min(own.takes.widthMHz, own.band === '2.4' ? 20 : 40));
		return takes === null ? [] : [{ channel, count: company(takes) }];
	});
	const best = options.sort((a, b) => a.count - b.count)[0];
	if (best === undefined || best.count >= company(own.takes) || best.channel === own.channel)
		return 'No usual channel of this band has less company; a narrower channel or another band may.';
	const heardThere = best.count === 0 ? 'nothing was heard there' : `${best.count} heard there`;
	return `Try channel ${best.channel} (${heardThere}), then run again: the runs decide.`;
}

function notHeard(): Advice {
	return {
		code: 'notHeard',
		seen: 'This computer cannot tell who else is on the air (only Linux with the program iw can).',
		advice: 'A Wi-Fi list on a phone shows names and channels; what it shows can be typed in.',
	};
}

function words({ centreMHz, widthMHz }: Spectrum): string {
	return `${centreMHz - widthMHz / 2} to ${centreMHz + widthMHz / 2} MHz`;
}

/**
 * A channel as a person types it: `6`, `36@80`, `6GHz 37@160`. A number that only one band has says its band; 1 to 13 alone is
 * 2.4 GHz. Null where it cannot be read.
 */
export function readTypedChannel(text: string): OwnChannel | null {
	const found =
		/^\s*(?:(2\.4|5|6)\s*GHz\s+)?(?:channel\s+|ch\s*)?(\d{1,3})(?:\s*@\s*(\d{2,3})(?:\s*MHz)?)?\s*$/i.exec(
			text,
		);
	if (found === null) return null;
	const channel = Number(found[2]);
	const band =
		(found[1] as Band | undefined) ??
		(channel <= 14 ? '2.4' : channelToMHz('5', channel) === null ? '6' : '5');
	const takes = blockOf(band, channel, found[3] === undefined ? 20 : Number(found[3]));
	return takes === null ? null : { band, channel, takes };
}
