/** sRGB codes (gamma-coded R'G'B'), 0..255 each. Real-valued: the mean of a patch is seldom a whole code. */
export type Rgb = readonly [red: number, green: number, blue: number];
