/**
 * Session descriptions of WebRTC as text: one codec and no other, a bitrate held or capped, and candidates put in the
 * place of those that were there. Lines that are not asked about stay as they are. (RFC 8866, RFC 8839, from memory; the
 * `x-google-…` parameters are libwebrtc's own and were tried.)
 */

/** Codecs that the binary used here offers; it has no H.264. */
export const RTC_CODECS = ['VP8', 'VP9', 'AV1'] as const;
export type RtcCodec = (typeof RTC_CODECS)[number];

/** `pinned`: held from the first picture on; otherwise the sender adapts below it. The encoder is told the most apart from the text. */
export type RtcBitrate = { readonly kbps: number; readonly pinned: boolean };

export type Address = { readonly host: string; readonly port: number };

const LINE_END = '\r\n';

/** Only `codec` and its resending are left in the video section. Null: it is not in there. */
export function withOnlyCodec(sdp: string, codec: RtcCodec): string | null {
	const lines = linesOf(sdp);
	const [payload] = payloadsOf(lines, codec);
	if (payload === undefined) return null;
	const resending = lines.flatMap((line) => /^a=fmtp:(\d+) apt=(\d+)$/.exec(line)?.slice(1) ?? []);
	const kept = new Set([payload]);
	for (let i = 0; i + 1 < resending.length; i += 2) if (resending[i + 1] === payload) kept.add(resending[i]!);
	return joined(
		lines.flatMap((line) => {
			if (line.startsWith('m=video ')) return [[...line.split(' ').slice(0, 3), ...kept].join(' ')];
			const of = /^a=(?:rtpmap|fmtp|rtcp-fb):(\d+) /.exec(line)?.[1];
			return of !== undefined && !kept.has(of) ? [] : [line];
		}),
	);
}

/**
 * Room above the picture's own bitrate, in kbit/s, for the estimate of what the way takes. A sender spreads each picture over time by that
 * estimate: capped at the picture's own rate, a large picture is drawn out over tens of milliseconds, and the jitter buffer at the other end
 * grows by it (at 4 Mbit/s, busy machine, two runs each: 42 and 61 ms in the buffer, with room 10 and 17).
 */
const ROOM_KBPS = 30_000;
const BEGIN_KBPS = 20_000;

/**
 * Asks the sender that is given this description to hold the bitrate of this codec (by WebRTC's name for it), or lets it adapt. Either way
 * the most is not said here but to the encoder: this text gives the room above.
 */
export function withBitrate(sdp: string, codec: string, { kbps, pinned }: RtcBitrate): string {
	const lines = linesOf(sdp);
	const room = `x-google-max-bitrate=${Math.max(ROOM_KBPS, kbps)}`;
	const wish = pinned
		? `x-google-min-bitrate=${kbps};x-google-start-bitrate=${Math.max(BEGIN_KBPS, kbps)};${room}`
		: room;
	return joined(
		payloadsOf(lines, codec).reduce((all, payload) => {
			const prefix = `a=fmtp:${payload} `;
			if (all.some((line) => line.startsWith(prefix)))
				return all.map((line) => (line.startsWith(prefix) ? `${line};${wish}` : line));
			return all.flatMap((line) =>
				line.startsWith(`a=rtpmap:${payload} `) ? [line, `${prefix}${wish}`] : [line],
			);
		}, lines),
	);
}

/** In the place of every candidate: one UDP address, in each section. */
export function withOneCandidate(sdp: string, { host, port }: Address): string {
	const candidate = `a=candidate:1 1 udp 2130706431 ${host} ${port} typ host`;
	const bare = linesOf(sdp).filter((line) => !isCandidate(line) && line !== 'a=end-of-candidates');
	return joined(bare.flatMap((line) => (line.startsWith('a=mid:') ? [line, candidate] : [line])));
}

/** Only UDP candidates of this address are left: the picture then goes by the way that is being judged, or not at all. */
export function withOnlyAddress(sdp: string, host: string): string {
	return joined(
		linesOf(sdp).filter((line) => {
			if (!isCandidate(line)) return true;
			const [, , protocol, , address] = line.split(' ');
			return protocol?.toLowerCase() === 'udp' && address === host;
		}),
	);
}

/** Whether the other end took the video at all. */
export function takesVideo(sdp: string): boolean {
	return linesOf(sdp).some((line) => /^m=video [1-9]/.test(line));
}

function payloadsOf(lines: readonly string[], codec: string): string[] {
	const pattern = new RegExp(`^a=rtpmap:(\\d+) ${codec}/90000`, 'i');
	return lines.flatMap((line) => pattern.exec(line)?.[1] ?? []);
}

function isCandidate(line: string): boolean {
	return line.startsWith('a=candidate:');
}

function linesOf(sdp: string): string[] {
	return sdp.split(/\r?\n/).filter((line) => line !== '');
}

function joined(lines: readonly string[]): string {
	return lines.join(LINE_END) + LINE_END;
}
