/**
 * The two constants of SSIM for 8-bit codes, with K1 0.01, K2 0.03, L 255.
 * Source: Wang, Bovik, Sheikh, Simoncelli, IEEE Transactions on Image Processing 13(4):600-612, 2004.
 */
export const SSIM_C1 = (0.01 * 255) ** 2;
export const SSIM_C2 = (0.03 * 255) ** 2;
