/** What the browser counts of a received video stream, as its statistics give it; null where they do not say. */
export type RtcCounts = {
	readonly received: number | null;
	readonly decoded: number | null;
	readonly dropped: number | null;
	readonly packetsLost: number | null;
	/** Sum over `buffered` pictures of their time in the jitter buffer. */
	readonly bufferMs: number | null;
	readonly buffered: number | null;
};

/** Null when nothing is received. */
export async function countReceived(connection: RTCPeerConnection): Promise<RtcCounts | null> {
	for (const report of (await connection.getStats()).values()) {
		if (report.type !== 'inbound-rtp' || report.kind !== 'video') continue;
		const numberOf = (field: string): number | null =>
			typeof report[field] === 'number' ? report[field] : null;
		const bufferSeconds = numberOf('jitterBufferDelay');
		return {
			received: numberOf('framesReceived'),
			decoded: numberOf('framesDecoded'),
			dropped: numberOf('framesDropped'),
			packetsLost: numberOf('packetsLost'),
			bufferMs: bufferSeconds === null ? null : bufferSeconds * 1000,
			buffered: numberOf('jitterBufferEmittedCount'),
		};
	}
	return null;
}
