/** What the searches for a position share: a result, bytes as text, and the words by which metadata tells a place. */
export type Scrubbed = {
	readonly bytes: Uint8Array;
	/** Each place in which a position stood, in words. */
	readonly found: readonly string[];
};

/** A position as ISO 6709 writes it, "+51.5007-000.1246"; random bytes look so once in more than any disk holds. */
export const WRITTEN_POSITION = /[+-]\d{2}\.\d{3,}[+-]\d{3}\.\d{3,}/;

/** Names under which item lists and tracks of data keep a position. */
export const LOCATION_KEY = /location|gps|geo|latitude|longitude/i;

/** Bytes as Latin-1 text: enough for names and for words of metadata. */
export function latin(bytes: Uint8Array, from: number, to: number): string {
	return Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength).toString('latin1', from, to);
}

/** Words by which XMP and text chunks tell a place. */
export function tellsPlace(text: string): boolean {
	return /GPS|Iptc4xmp\w*:Location|photoshop:(City|State|Country)|GeoTag|ISO6709|geo:(lat|long)|latitude|longitude/i.test(
		text,
	);
}
