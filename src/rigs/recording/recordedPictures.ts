/**
 * A recording of the card as pictures: which tick each shows, over which of the file's frames it stands, and which frames could not
 * be read. One form for both kinds of card: a code strip read at its place, and a marker read through a lens.
 */

/** One picture of the kit's, as long as the file shows it. */
export type RecordedPicture = {
	/** Frame number of the card, or mean tick of the marker, which goes on rising past 4096. */
	readonly tick: number;
	/** Frames [from, until) of the file. */
	readonly from: number;
	readonly until: number;
};

export type RecordedPictures = {
	/** The file's own time of every frame, ms. */
	readonly fileMs: Float64Array;
	readonly pictures: readonly RecordedPicture[];
	/** 1: nothing could be read in that frame. */
	readonly unread: Uint8Array;
	/** Refresh rate that the card itself names; null where it names none. */
	readonly namedHz: number | null;
	/** Two screens are seen, one showing the card later than the other: a film of both by somebody's phone, and no recording of the kit's own. */
	readonly showsTwoScreens: boolean;
};

/** `codes`: of every frame in order, null where it could not be read. Equal ones with nothing read between are one picture. */
export function picturesOfCodes(
	fileMs: readonly number[],
	codes: readonly (number | null)[],
): RecordedPictures {
	const pictures: RecordedPicture[] = [];
	for (let frame = 0; frame < codes.length; ) {
		const tick = codes[frame]!;
		let until = frame + 1;
		while (until < codes.length && codes[until] === tick) until++;
		const before = pictures.at(-1);
		if (tick !== null && before?.tick === tick) pictures[pictures.length - 1] = { ...before, until };
		else if (tick !== null) pictures.push({ tick, from: frame, until });
		frame = until;
	}
	return {
		fileMs: Float64Array.from(fileMs),
		pictures,
		unread: Uint8Array.from(codes, (code) => (code === null ? 1 : 0)),
		namedHz: null,
		showsTwoScreens: false,
	};
}
