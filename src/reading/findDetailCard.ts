/**
 * Finds the printed card in a picture, at any turn, mirrored or not, bent by a lens: nine rings, named by their order round
 * the middle one and by the two that hold a dot. What is wrong with a picture that holds no card is said as a value.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import type { Unmeasured } from '../imaging/realPlane.ts';
import { type Point, RING_CENTRES } from '../pattern/detailCard.ts';
import { type CardPose, fitCardPose } from './cardPose.ts';
import { findRingMarks, type RingMark } from './ringMarks.ts';

const RINGS = 9;
/** Clockwise on the card from the upper left, as places in RING_CENTRES. */
const ROUND = [0, 1, 2, 5, 8, 7, 6, 3] as const;
const MIDDLE = 4;
const MOST_MISS = 0.35;

export type FoundCard = { readonly kind: 'found'; readonly pose: CardPose };

export function findDetailCard(luma: LumaPlane): FoundCard | Unmeasured {
	const marks = findRingMarks(luma);
	if (marks.length < RINGS) return missing(luma, marks.length);
	const best = likeliest(marks);
	const centre = middleOf(best);
	const round = best
		.filter((mark) => mark !== centre)
		.toSorted((a, b) => angleOf(a, centre) - angleOf(b, centre));
	const dotted = round.filter(({ dotted: has }) => has).length;
	if (dotted !== 2 || centre.dotted)
		return unmeasured(
			'otherCard',
			`Nine rings are in the picture, but ${dotted} of them hold a dot: this is not the card of colour and detail, or its upper left corner is not clear.`,
		);
	let found: CardPose | null = null;
	for (const direction of [1, -1])
		for (let start = 0; start < round.length; start++) {
			const named = ROUND.map((place, i) => ({
				place,
				mark: round[(((start + direction * i) % 8) + 8) % 8]!,
			}));
			if (!named[0]!.mark.dotted || !named[1]!.mark.dotted) continue;
			const pose = poseOf([...named, { place: MIDDLE, mark: centre }], luma);
			if (pose !== null && (found === null || pose.missPx < found.missPx)) found = pose;
		}
	const radiusPx = centre.radiusPx;
	if (found === null || found.missPx > MOST_MISS * radiusPx)
		return unmeasured(
			'notFlat',
			'The nine rings do not lie as they do on a flat card: lay it flat, whole and free of glare.',
		);
	return { kind: 'found', pose: found };
}

type Named = { readonly place: number; readonly mark: RingMark };

function poseOf(named: readonly Named[], luma: LumaPlane): CardPose | null {
	try {
		return fitCardPose(
			named.map(({ place, mark }) => ({
				mm: RING_CENTRES[place]!,
				picture: { x: mark.xPx, y: mark.yPx } satisfies Point,
			})),
			luma,
		);
	} catch (error) {
		// An order of rings that has no pose at all is not the one.
		if (error instanceof RangeError) return null;
		throw error;
	}
}

/** The nine nearest to one size, where something else passed for a ring. */
function likeliest(marks: readonly RingMark[]): RingMark[] {
	const sizes = marks.map(({ radiusPx }) => radiusPx).toSorted((a, b) => a - b);
	const middle = sizes[sizes.length >> 1]!;
	const away = ({ radiusPx }: RingMark): number => Math.abs(Math.log(radiusPx / middle));
	return marks.toSorted((a, b) => away(a) - away(b)).slice(0, RINGS);
}

function middleOf(marks: readonly RingMark[]): RingMark {
	const x = marks.reduce((sum, mark) => sum + mark.xPx, 0) / marks.length;
	const y = marks.reduce((sum, mark) => sum + mark.yPx, 0) / marks.length;
	const away = (mark: RingMark): number => Math.hypot(mark.xPx - x, mark.yPx - y);
	return marks.reduce((best, mark) => (away(mark) < away(best) ? mark : best));
}

function angleOf({ xPx, yPx }: RingMark, centre: RingMark): number {
	return Math.atan2(yPx - centre.yPx, xPx - centre.xPx);
}

const BLACK_CODE = 16;
const BURNT_CODE = 250;
const BURNT_SHARE = 0.6;

function missing(luma: LumaPlane, count: number): Unmeasured {
	const { nearlyBrightest, burntShare } = levelsOf(luma);
	if (nearlyBrightest < BLACK_CODE)
		return unmeasured('black', 'The picture is black: light the card, take the cap off, and take it again.');
	if (burntShare > BURNT_SHARE)
		return unmeasured(
			'blownOut',
			`${Math.round(100 * burntShare)} % of the picture is burnt out: lower the lamp or go further away.`,
		);
	if (count === 0)
		return unmeasured(
			'noCard',
			'No ring of the card of colour and detail is in the picture: is it the right card, is it sharp, and does it fill at least a third of the view?',
		);
	return unmeasured(
		'partOfCard',
		`${count} of the card’s nine rings are in the picture: the whole card must be in view, clear of glare.`,
	);
}

function levelsOf({ data, stride, widthPx, heightPx }: LumaPlane) {
	const counts = new Uint32Array(256);
	for (let row = 0; row < heightPx; row++)
		for (let column = 0; column < widthPx; column++) counts[data[row * stride + column]!]!++;
	const whole = widthPx * heightPx;
	let above = 0;
	let nearlyBrightest = 255;
	while (nearlyBrightest > 0 && above + counts[nearlyBrightest]! < 0.01 * whole)
		above += counts[nearlyBrightest--]!;
	let burnt = 0;
	for (let code = BURNT_CODE; code < 256; code++) burnt += counts[code]!;
	return { nearlyBrightest, burntShare: burnt / whole };
}

function unmeasured(reason: string, explanation: string): Unmeasured {
	return { kind: 'notMeasured', reason, explanation };
}
