/**
 * What `iw dev … scan`, `link` and `station dump` print, read with tolerance: the text is meant for people and changes between
 * versions, so a line that is not known is passed over, and what is missing is null. Hidden names, missing load, several
 * forms of frequency and signal are usual. (Samples: standards.md 7.)
 */
import { type Band, blockOf, mhzToChannel, type Spectrum } from './channels.ts';

export type HeardNetwork = {
	readonly address: string;
	/** Null: hidden. */
	readonly name: string | null;
	readonly band: Band;
	readonly channel: number;
	/** As far as the text tells; 20 MHz where it says nothing of width. */
	readonly takes: Spectrum;
	readonly signalDbm: number | null;
	/** Its own count of how busy its channel is, 0 to 1; null where it tells none. */
	readonly busyRatio: number | null;
	readonly stations: number | null;
	/** This computer is joined to it. */
	readonly joined: boolean;
};

export type JoinedLink = {
	readonly address: string;
	readonly name: string | null;
	readonly freqMHz: number | null;
	readonly signalDbm: number | null;
	readonly rxMbitPerS: number | null;
	readonly txMbitPerS: number | null;
};

export type StationCounts = {
	readonly address: string;
	readonly txPackets: number | null;
	readonly txRetries: number | null;
	readonly txFailed: number | null;
	readonly beaconLoss: number | null;
	readonly signalDbm: number | null;
};

const BLOCK = /^BSS ([0-9a-f]{2}(?::[0-9a-f]{2}){5})/i;

/** Networks in the order heard. Those without a known frequency are left out. */
export function readScan(text: string): HeardNetwork[] {
	const networks: HeardNetwork[] = [];
	let lines: string[] = [];
	for (const line of [...text.split(/\r?\n/), 'BSS 00:00:00:00:00:00']) {
		if (BLOCK.test(line)) {
			const network = readNetwork(lines);
			if (network !== null) networks.push(network);
			lines = [line];
		} else lines.push(line);
	}
	return networks;
}

function readNetwork(lines: readonly string[]): HeardNetwork | null {
	const [head = ''] = lines;
	const address = BLOCK.exec(head)?.[1]?.toLowerCase();
	const text = lines.join('\n');
	const place = mhzToChannel(Math.round(numberAfter(text, /^\s*freq:\s*/m) ?? Number.NaN));
	if (address === undefined || place === null) return null;
	const utilisation = /channel utili[sz]ation:\s*(\d+)\s*\/\s*255/i.exec(text)?.[1];
	return {
		address,
		name: nameIn(text),
		...place,
		takes: spectrumIn(text, place),
		signalDbm: numberAfter(text, /^\s*signal:\s*/m),
		busyRatio: utilisation === undefined ? null : Math.min(1, Number(utilisation) / 255),
		stations: numberAfter(text, /station count:\s*/i),
		joined: /--\s*(associated|joined)/i.test(head),
	};
}

/** Wider than 20 MHz only where one of the newer parts says so. */
function spectrumIn(text: string, { band, channel }: { band: Band; channel: number }): Spectrum {
	const mhz = blockOf(band, channel, 20) ?? { centreMHz: 0, widthMHz: 20 };
	const vht = /VHT operation:([\s\S]*?)(?=\n\s*\S+ (?:operation|capabilities):|$)/i.exec(text)?.[1] ?? '';
	const width = /channel width:\s*(\d)(?:\s*\((\d+)[^)]*MHz\))?/i.exec(vht);
	const first = numberAfter(vht, /center freq(?:uency)? segment 1:\s*/i) ?? 0;
	const second = numberAfter(vht, /center freq(?:uency)? segment 2:\s*/i) ?? 0;
	if (band === '5' && width !== null && width[1] !== '0' && first > 0) {
		const wide = width[1] === '2' || (second > 0 && Math.abs(second - first) === 8);
		const centre = wide && second > 0 ? second : first;
		return { centreMHz: 5000 + 5 * centre, widthMHz: wide ? 160 : 80 };
	}
	const side = /secondary channel offset:\s*(above|below)/i.exec(text)?.[1]?.toLowerCase();
	if (side === undefined) return mhz;
	return { centreMHz: mhz.centreMHz + (side === 'above' ? 10 : -10), widthMHz: 40 };
}

/** Null for `Not connected.` and for anything that names no access point. */
export function readLink(text: string): JoinedLink | null {
	const address = /Connected to ([0-9a-f:]{17})/i.exec(text)?.[1]?.toLowerCase();
	if (address === undefined) return null;
	return {
		address,
		name: nameIn(text),
		freqMHz: numberAfter(text, /^\s*freq:\s*/m),
		signalDbm: numberAfter(text, /^\s*signal:\s*/m),
		rxMbitPerS: numberAfter(text, /^\s*rx bitrate:\s*/m),
		txMbitPerS: numberAfter(text, /^\s*tx bitrate:\s*/m),
	};
}

export function readStations(text: string): StationCounts[] {
	return text.split(/^(?=Station )/m).flatMap((block) => {
		const address = /^Station ([0-9a-f:]{17})/i.exec(block)?.[1]?.toLowerCase();
		if (address === undefined) return [];
		const count = (name: string): number | null => numberAfter(block, new RegExp(`^\\s*${name}:\\s*`, 'm'));
		return [
			{
				address,
				txPackets: count('tx packets'),
				txRetries: count('tx retries'),
				txFailed: count('tx failed'),
				beaconLoss: count('beacon loss'),
				signalDbm: count('signal'),
			},
		];
	});
}

function nameIn(text: string): string | null {
	const name = /^\s*SSID: ?(.*)$/m.exec(text)?.[1]?.trim() ?? '';
	return name === '' || /^(\\x00)+$/.test(name) ? null : name;
}

function numberAfter(text: string, label: RegExp): number | null {
	const found = new RegExp(`${label.source}(-?\\d+(?:\\.\\d+)?)`, label.flags).exec(text)?.[1];
	return found === undefined ? null : Number(found);
}
