/**
 * Where a clip's markers are, from its first frames. In a clip from a stand they are looked for in the mean of those frames, where
 * noise is gone and fast cells are grey; a clip from the hand is known by the markers of its first and last of these frames lying
 * apart, and then its last frame's markers are where following begins.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import { findMarkers, middleOf } from './markerFinder.ts';
import { posesOf } from './markerPoses.ts';
import type { FoundMarker, Located, MarkerLocator, NotRead } from './opticalTypes.ts';

/** A marker that moves by more than this share of its side, or a pixel and a quarter, in the frames given was not filmed from a stand. */
const STILL_SHARE = 1 / 60;
const STILL_PX = 1.25;
/** A marker narrower than this is named as too small, when nothing can be read. */
const GOOD_SIDE_PX = 50;

export function createMarkerLocator(): MarkerLocator {
	let sums: Int32Array | null = null;
	let count = 0;
	let first: LumaPlane | null = null;
	let last: LumaPlane | null = null;

	function mean(): LumaPlane | null {
		if (sums === null || first === null) return null;
		const average = emptyPlane(first);
		for (let i = 0; i < sums.length; i++) average.data[i] = Math.round(sums[i]! / count);
		return average;
	}

	return {
		add(luma) {
			const { data, stride, widthPx, heightPx } = luma;
			first ??= emptyPlane(luma);
			last ??= emptyPlane(luma);
			sums ??= new Int32Array(widthPx * heightPx);
			if (first.widthPx !== widthPx || first.heightPx !== heightPx)
				throw new RangeError(`frames of one clip have one size, got ${widthPx} x ${heightPx}`);
			for (let y = 0; y < heightPx; y++)
				last.data.set(data.subarray(y * stride, y * stride + widthPx), y * widthPx);
			if (count === 0) first.data.set(last.data);
			addTo(sums, last.data);
			count++;
		},
		locate(least = 2) {
			const average = mean();
			if (average === null || first === null || last === null) return nothingSeen();
			const lastSeen = last;
			const atFirst = markersIn(first);
			const atLast = markersIn(last);
			if (moved(atFirst, atLast))
				return located({
					filmed: 'handHeld',
					markers: atLast,
					quads: () => findMarkers(lastSeen).length,
					least,
				});
			const markers = markersIn(average);
			const small = placesOf(markers) < least ? smallMarkers(average, markers) : [];
			if (small.length > 0) return tooSmall(small);
			return located({ filmed: 'tripod', markers, quads: () => findMarkers(average).length, least });
		},
	};
}

function addTo(sums: Int32Array, codes: Uint8Array): void {
	for (let i = 0; i < sums.length; i++) sums[i] = sums[i]! + codes[i]!;
}

function emptyPlane({ widthPx, heightPx }: LumaPlane): LumaPlane {
	return { data: new Uint8Array(widthPx * heightPx), stride: widthPx, widthPx, heightPx };
}

function markersIn(luma: LumaPlane): FoundMarker[] {
	return findMarkers(luma).flatMap((quad) => posesOf(luma, quad));
}

/** Whether the markers of one frame lie elsewhere in the other: by the nearest of like size. */
function moved(before: readonly FoundMarker[], after: readonly FoundMarker[]): boolean {
	return before.some((marker) => {
		const apart = after
			.filter(({ sidePx }) => Math.abs(sidePx / marker.sidePx - 1) < 0.3)
			.map((other) => middleApart(marker, other));
		return apart.length > 0 && Math.min(...apart) > Math.max(STILL_PX, STILL_SHARE * marker.sidePx);
	});
}

function middleApart(a: FoundMarker, b: FoundMarker): number {
	const [one, other] = [middleOf(a.pose.quad), middleOf(b.pose.quad)];
	return Math.hypot(one.xPx - other.xPx, one.yPx - other.yPx);
}

type Seen = {
	readonly filmed: Located['filmed'];
	readonly markers: readonly FoundMarker[];
	/** Counts dark squares, markers or not: a search of its own, made only where there is nothing else to tell. */
	readonly quads: () => number;
	readonly least: 1 | 2;
};

function located({ filmed, markers, quads, least }: Seen): Located | NotRead {
	const places = placesOf(markers);
	if (places >= least) return { kind: 'located', filmed, markers };
	if (places === 1) return onlyOne(markers[0]!);
	const squares = quads();
	return {
		kind: 'notMeasured',
		reason: 'noMarkers',
		explanation:
			squares === 0
				? 'No marker was found. Both screens must be in the picture, the card on the laptop and the kit’s live picture of it on the tablet, sharp and without glare.'
				: `${squares} dark squares were found, but none could be read as a marker. Film both markers larger (${GOOD_SIDE_PX} pixels and more), sharper and without glare.`,
	};
}

function placesOf(markers: readonly FoundMarker[]): number {
	return new Set(markers.map(({ pose }) => pose.quad)).size;
}

/** More pixels than this are not enlarged threefold: twice is where most of what is too small shows. */
const ENLARGE_MOST = 4_000_000;

/** Sides of markers that only an enlarged picture shows, in its own pixels: too small to be measured by, large enough to say so. */
function smallMarkers(luma: LumaPlane, found: readonly FoundMarker[]): number[] {
	for (const times of [2, 3]) {
		if (luma.widthPx * luma.heightPx * times ** 2 > ENLARGE_MOST * 4) continue;
		const sides = markersIn(enlarged(luma, times)).map(({ sidePx }) => sidePx / times);
		const small = sides.filter((side) => found.every(({ sidePx }) => Math.abs(side / sidePx - 1) > 0.2));
		if (small.length > 0) return small;
	}
	return [];
}

/** Bilinear. */
function enlarged({ data, stride, widthPx, heightPx }: LumaPlane, times: number): LumaPlane {
	const [width, height] = [widthPx * times, heightPx * times];
	const out = new Uint8Array(width * height);
	for (let y = 0; y < height; y++) {
		const fromY = Math.min(heightPx - 1.001, Math.max(0, (y + 0.5) / times - 0.5));
		const top = Math.floor(fromY) * stride;
		const down = fromY - Math.floor(fromY);
		for (let x = 0; x < width; x++) {
			const fromX = Math.min(widthPx - 1.001, Math.max(0, (x + 0.5) / times - 0.5));
			const left = Math.floor(fromX);
			const across = fromX - left;
			const upper = data[top + left]! * (1 - across) + data[top + left + 1]! * across;
			const lower = data[top + stride + left]! * (1 - across) + data[top + stride + left + 1]! * across;
			out[y * width + x] = Math.round(upper * (1 - down) + lower * down);
		}
	}
	return { data: out, stride: width, widthPx: width, heightPx: height };
}

function tooSmall(sides: readonly number[]): NotRead {
	const side = Math.min(...sides);
	const share = Math.max(10, 10 * Math.floor((10 * side) / GOOD_SIDE_PX));
	return {
		kind: 'notMeasured',
		reason: 'markerTooSmall',
		explanation:
			`A marker is only ${Math.round(side)} pixels wide in the clip; ${GOOD_SIDE_PX} are needed. If it is the tablet's, bring the scope's tip to about ${share} % of its distance from the card, ` +
			`till the marker fills a third of the tablet's picture; if it is the laptop's, bring the phone to about ${share} % of its distance, or film at a higher resolution.`,
	};
}

function onlyOne({ sidePx }: FoundMarker): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'oneMarker',
		explanation:
			`Only one marker was found, ${Math.round(sidePx)} pixels wide. The phone must see the card on the laptop and the live picture of it on the tablet: ` +
			'turn the phone so that both are in the picture, and bring the scope’s tip so near that the marker fills a third of the tablet’s picture. If this is the kit’s own recording of the card, give it as that (--recording; on the page, choose so).',
	};
}

function nothingSeen(): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'noFrames',
		explanation: 'The clip holds no picture. Send the original file again.',
	};
}
