/**
 * The colour patches of the link card: a neutral ramp, strong primaries, and the reds and pinks that an endoscope shows.
 *
 * The values are this project's own choice, sRGB codes. None is at the edge of the range, so that a wrong matrix, a wrong
 * range or a cast moves a patch and does not merely clip it; and each comes back from whole Y, U and V codes within 0.8 of a
 * code. "Tissue" names a colour, not a finding.
 */
import type { Rgb } from '../colour/rgb.ts';
import type { Rect } from '../imaging/rect.ts';
import type { CardSpec } from './card.ts';
import { cardGeometry } from './geometry.ts';

export type PatchRole = 'neutral' | 'primary' | 'tissue';
export type CardPatch = {
	readonly name: string;
	readonly role: PatchRole;
	readonly rgb: Rgb;
	readonly rect: Rect;
	/** The part that is averaged when it is read. */
	readonly inner: Rect;
};

/** Name, role and sRGB codes; the printed detail card shows the same. */
export const palette: readonly (readonly [string, PatchRole, Rgb])[] = [
	['neutral 24', 'neutral', [24, 24, 24]],
	['neutral 56', 'neutral', [56, 56, 56]],
	['neutral 88', 'neutral', [88, 88, 88]],
	['neutral 120', 'neutral', [120, 120, 120]],
	['neutral 152', 'neutral', [152, 152, 152]],
	['neutral 184', 'neutral', [184, 184, 184]],
	['neutral 212', 'neutral', [212, 212, 212]],
	['neutral 238', 'neutral', [238, 238, 238]],
	['red', 'primary', [208, 33, 32]],
	['orange', 'primary', [226, 132, 44]],
	['yellow', 'primary', [229, 206, 54]],
	['green', 'primary', [44, 152, 75]],
	['cyan', 'primary', [41, 164, 190]],
	['blue', 'primary', [42, 70, 182]],
	['violet', 'primary', [108, 72, 166]],
	['magenta', 'primary', [190, 54, 147]],
	['mucosa pale', 'tissue', [226, 180, 170]],
	['mucosa pink', 'tissue', [214, 148, 140]],
	['mucosa warm', 'tissue', [204, 126, 110]],
	['mucosa flushed', 'tissue', [191, 98, 92]],
	['mucosa inflamed', 'tissue', [172, 65, 64]],
	['mucosa bruised', 'tissue', [126, 70, 85]],
	['vessel fine', 'tissue', [160, 52, 58]],
	['vessel dark', 'tissue', [104, 30, 40]],
	['blood fresh', 'tissue', [142, 20, 24]],
	['blood old', 'tissue', [82, 27, 24]],
	['cartilage', 'tissue', [232, 212, 196]],
	['mucus clear', 'tissue', [206, 190, 160]],
	['mucus yellow', 'tissue', [199, 176, 104]],
	['bile', 'tissue', [116, 122, 57]],
	['fibrin', 'tissue', [222, 199, 150]],
	['deep shade', 'tissue', [58, 30, 30]],
];

/** The card's patches with their places, in a fixed order. */
export function cardPatches(spec: CardSpec): readonly CardPatch[] {
	const { patches } = cardGeometry(spec);
	return palette.map(([name, role, rgb], index) => ({ name, role, rgb, ...patches[index]! }));
}
