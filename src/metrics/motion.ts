/**
 * What is left of parts that move at stated speeds: fine detail beside the same edge at rest, how long the shutter (or a smoothing
 * that acts like one) was open, how much of earlier pictures shines through, and whether a small pulse keeps its size and its beat.
 * Figures are the middle over the pictures looked at. Places are set against those drawn in the picture of the same number, so the way's
 * delay is not in the lag. Judged by nothing: it tells what will be missed.
 */
import type { DetailSample } from '../observations/run.ts';
import { measureSmear } from './motionSmear.ts';
import { grouped, middle, middleOrNull } from './pictureDetails.ts';
import type { Motion } from './pictureMetric.ts';
import { measurePulseKept, type Placed } from './pulseKept.ts';

type Looked = DetailSample & { readonly motion: NonNullable<DetailSample['motion']> };

/** Undefined where the card had no such parts. */
export function measureMotion(details: readonly DetailSample[]): Motion | undefined {
	const looks = details.filter((detail): detail is Looked => detail.motion !== undefined);
	if (looks.length === 0) return undefined;
	const bySegment = grouped(looks, ({ segment }) => String(segment));
	const rateHz = rateOf(bySegment);
	const groups = grouped(
		looks.flatMap(({ motion }) => motion.edges),
		({ speedPx }) => String(speedPx),
	)
		.map((edges) => ({
			speedPx: edges[0]!.speedPx,
			mtf50CyPx: middleOrNull(edges.map(({ mtf50CyPx }) => mtf50CyPx)),
			riseWidthPx: middle(edges.map(({ riseWidthPx }) => riseWidthPx)),
		}))
		.toSorted((a, b) => a.speedPx - b.speedPx);
	const atRest = groups.find(({ speedPx }) => speedPx === 0) ?? null;
	return {
		picturesHz: rateHz,
		atRestMtf50CyPx: atRest?.mtf50CyPx ?? null,
		speeds: groups
			.filter(({ speedPx }) => speedPx > 0)
			.map((moving) => ({
				speedPx: moving.speedPx,
				mtf50CyPx: moving.mtf50CyPx,
				...(atRest === null || rateHz === null ? NO_SMEAR : smearOf(atRest, moving, rateHz)),
			})),
		earlierRatio: middleOrNull(
			looks.flatMap(({ motion }) => motion.ghosts.map(({ earlierRatio }) => earlierRatio)),
		),
		pulse: pulseOf(bySegment),
		pictureCount: looks.length,
	};
}

const NO_SMEAR = { smearPx: null, shutterMs: null, detailKeptRatio: null };

type Edge = { readonly speedPx: number; readonly mtf50CyPx: number | null; readonly riseWidthPx: number };

function smearOf(atRest: Edge, moving: Edge, rateHz: number) {
	return measureSmear(atRest, moving, (moving.speedPx * rateHz) / 1000);
}

/** Pictures of the card a second, from their numbers and instants; null where they do not rise. */
function rateOf(bySegment: readonly (readonly Looked[])[]): number | null {
	const rates = bySegment.map((looks) => {
		const [first, last] = [looks[0]!, looks.at(-1)!];
		const spanMs = last.atMs - first.atMs;
		return spanMs > 0 && last.frameNumber > first.frameNumber
			? { hz: (1000 * (last.frameNumber - first.frameNumber)) / spanMs, spanMs }
			: null;
	});
	const longest = rates
		.filter((rate) => rate !== null)
		.reduce<{ hz: number; spanMs: number } | null>(
			(a, b) => (a !== null && a.spanMs >= b.spanMs ? a : b),
			null,
		);
	return longest?.hz ?? null;
}

/** Of the longest unbroken stretch. */
function pulseOf(bySegment: readonly (readonly Looked[])[]): Motion['pulse'] {
	const places = bySegment.map(placesOf).reduce((a, b) => (b.seen.length > a.seen.length ? b : a));
	return measurePulseKept(places.drawn, places.seen);
}

function placesOf(looks: readonly Looked[]): { readonly drawn: Placed[]; readonly seen: Placed[] } {
	const drawn: Placed[] = [];
	const seen: Placed[] = [];
	for (const { atMs, motion } of looks) {
		if (motion.pulse === null) continue;
		drawn.push({ atMs, px: motion.pulse.drawnPx });
		seen.push({ atMs, px: motion.pulse.seenPx });
	}
	return { drawn, seen };
}
