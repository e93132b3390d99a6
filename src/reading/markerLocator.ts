/**
 * Where a clip's markers are, from its first frames. In a clip from a stand they are looked for in the mean of those frames, where
 * noise is gone and fast cells are grey; a clip from the hand is known by the markers of its first and last of these frames lying
 * apart, and then its last frame's markers are where following begins.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import { findMarkers, middleOf } from './markerFinder.ts';
import { posesOf } from './markerPoses.ts';
import type { FoundMarker, Located, MarkerFinder, MarkerLocator, NotRead } from './opticalTypes.ts';

/** A marker that moves by more than this share of its side, or a pixel and a quarter, in the frames given was not filmed from a stand. */
const STILL_SHARE = 1 / 60;
const STILL_PX = 1.25;
/** A marker narrower than this is named as too small, when nothing can be read. */
const GOOD_SIDE_PX = 50;

export function createMarkerLocator(finder: MarkerFinder = findMarkers): MarkerLocator {
	let sums: Uint32Array | null = null;
	let count = 0;
	let first: LumaPlane | null = null;
	let last: LumaPlane | null = null;

	function mean(): LumaPlane | null {
		if (sums === null || first === null) return null;
		const { widthPx, heightPx } = first;
		return {
			data: Uint8Array.from(sums, (sum) => Math.round(sum / count)),
			stride: widthPx,
			widthPx,
			heightPx,
		};
	}

	return {
		add(luma) {
			const packed = packedCopy(luma);
			sums ??= new Uint32Array(packed.data.length);
			if (sums.length !== packed.data.length)
				throw new RangeError(`frames of one clip have one size, got ${luma.widthPx} x ${luma.heightPx}`);
			for (let i = 0; i < sums.length; i++) sums[i]! += packed.data[i]!;
			count++;
			first ??= packed;
			last = packed;
		},
		locate(least = 2) {
			const average = mean();
			if (average === null || first === null || last === null) return nothingSeen();
			const atFirst = markersIn(first, finder);
			const atLast = markersIn(last, finder);
			if (moved(atFirst, atLast))
				return located({ filmed: 'handHeld', markers: atLast, quads: finder(last).length, least });
			return located({
				filmed: 'tripod',
				markers: markersIn(average, finder),
				quads: finder(average).length,
				least,
			});
		},
	};
}

function packedCopy({ data, stride, widthPx, heightPx }: LumaPlane): LumaPlane {
	const copy = new Uint8Array(widthPx * heightPx);
	for (let y = 0; y < heightPx; y++) copy.set(data.subarray(y * stride, y * stride + widthPx), y * widthPx);
	return { data: copy, stride: widthPx, widthPx, heightPx };
}

function markersIn(luma: LumaPlane, finder: MarkerFinder): FoundMarker[] {
	return finder(luma).flatMap((quad) => posesOf(luma, quad));
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
	/** Dark squares, markers or not. */
	readonly quads: number;
	readonly least: 1 | 2;
};

function located({ filmed, markers, quads, least }: Seen): Located | NotRead {
	const places = new Set(markers.map(({ pose }) => pose.quad));
	if (places.size >= least) return { kind: 'located', filmed, markers };
	if (places.size === 1) return onlyOne(markers[0]!);
	return {
		kind: 'notMeasured',
		reason: 'noMarkers',
		explanation:
			quads === 0
				? 'No marker was found. Both screens must be in the picture, the card on the laptop and the kit’s live picture of it on the tablet, sharp and without glare.'
				: `${quads} dark squares were found, but none could be read as a marker. Film both markers larger (${GOOD_SIDE_PX} pixels and more), sharper and without glare.`,
	};
}

function onlyOne({ sidePx }: FoundMarker): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'oneMarker',
		explanation:
			`Only one marker was found, ${Math.round(sidePx)} pixels wide. The phone must see the card on the laptop and the live picture of it on the tablet: ` +
			'turn the phone so that both are in the picture, and bring the scope’s tip so near that the marker fills a third of the tablet’s picture.',
	};
}

function nothingSeen(): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'noFrames',
		explanation: 'The clip holds no picture. Send the original file again.',
	};
}
