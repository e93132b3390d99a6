import { expect, test } from 'vitest';
import {
	takesVideo,
	withBitrate,
	withOneCandidate,
	withOnlyAddress,
	withOnlyCodec,
} from '../../src/transports/sdpText.ts';

/** As a browser and the binary write them, shortened. */
const SDP = [
	'v=0',
	'm=application 9 UDP/DTLS/SCTP webrtc-datachannel',
	'a=mid:0',
	'a=candidate:1 1 udp 2130706431 10.0.0.7 5000 typ host',
	'm=video 9 UDP/TLS/RTP/SAVPF 96 97 98 99 127',
	'a=mid:1',
	'a=candidate:1 1 udp 2130706431 10.0.0.7 5000 typ host generation 0',
	'a=candidate:2 1 udp 2130706431 192.168.4.2 5001 typ host',
	'a=candidate:3 1 tcp 1518280447 10.0.0.7 9 typ host tcptype active',
	'a=candidate:4 1 udp 2113937151 9b36eaac-bb2e-49bb-bb78-21c41c499900.local 5002 typ host',
	'a=end-of-candidates',
	'a=rtpmap:96 VP8/90000',
	'a=rtcp-fb:96 nack pli',
	'a=rtpmap:97 rtx/90000',
	'a=fmtp:97 apt=96',
	'a=rtpmap:98 VP9/90000',
	'a=fmtp:98 profile-id=0',
	'a=rtpmap:99 rtx/90000',
	'a=fmtp:99 apt=98',
	'a=rtpmap:127 red/90000',
	'',
].join('\r\n');

test('an offer with one codec leaves the other end no choice, and keeps the resending of that codec', () => {
	const only = withOnlyCodec(SDP, 'VP9') ?? '';
	expect(only).toContain('m=video 9 UDP/TLS/RTP/SAVPF 98 99\r\n');
	for (const gone of ['VP8/90000', 'red/90000', 'apt=96', 'rtcp-fb:96']) expect(only).not.toContain(gone);
	expect(only).toContain('a=fmtp:99 apt=98');
	expect(withOnlyCodec(SDP, 'AV1')).toBeNull();
});

test('a held bitrate names its least; either way the estimate of the way has room above; other parameters stay', () => {
	const held = withBitrate(SDP, 'VP9', { kbps: 3000, pinned: true });
	expect(held).toContain(
		'a=fmtp:98 profile-id=0;x-google-min-bitrate=3000;x-google-start-bitrate=20000;x-google-max-bitrate=30000\r\n',
	);
	expect(held).toContain('a=fmtp:97 apt=96\r\n');
	const adapting = withBitrate(SDP, 'VP8', { kbps: 3000, pinned: false });
	expect(adapting).toContain('a=rtpmap:96 VP8/90000\r\na=fmtp:96 x-google-max-bitrate=30000\r\n');
	expect(adapting).not.toContain('min-bitrate');
	const high = withBitrate(SDP, 'VP9', { kbps: 45_000, pinned: true });
	for (const which of ['min', 'start', 'max']) expect(high).toContain(`x-google-${which}-bitrate=45000`);
});

test('behind a relay the other end hears of one address alone: no packet finds a way around the air', () => {
	const behind = withOneCandidate(SDP, { host: '10.0.0.1', port: 777 });
	const candidates = behind.split('\r\n').filter((line) => line.startsWith('a=candidate:'));
	expect(new Set(candidates)).toEqual(new Set(['a=candidate:1 1 udp 2130706431 10.0.0.1 777 typ host']));
	expect(candidates).toHaveLength(2);
	expect(behind).not.toContain('end-of-candidates');
});

test('on a chosen network only its own UDP address is offered', () => {
	const candidates = withOnlyAddress(SDP, '192.168.4.2')
		.split('\r\n')
		.filter((line) => line.startsWith('a=candidate:'));
	expect(candidates).toEqual(['a=candidate:2 1 udp 2130706431 192.168.4.2 5001 typ host']);
});

test('an answer that refuses the video is told from one that takes it', () => {
	expect(takesVideo(SDP)).toBe(true);
	expect(takesVideo(SDP.replace('m=video 9', 'm=video 0'))).toBe(false);
	expect(takesVideo('nonsense')).toBe(false);
});
