/**
 * Bradford adaptation: XYZ under one white to the XYZ that looks the same under another.
 * Source: cone matrix as published in the colour-science/colour library.
 */
import { diagonal, invert, type Matrix3, multiply, transform, type Vector3 } from './matrix3.ts';

const TO_CONES: Matrix3 = [
	[0.8951, 0.2664, -0.1614],
	[-0.7502, 1.7135, 0.0367],
	[0.0389, -0.0685, 1.0296],
];
const FROM_CONES = invert(TO_CONES);

/** The matrix from XYZ under `from` to XYZ under `to`; both whites as XYZ. */
export function bradfordMatrix(from: Vector3, to: Vector3): Matrix3 {
	const before = transform(TO_CONES, from);
	const after = transform(TO_CONES, to);
	const gains = diagonal([after[0] / before[0], after[1] / before[1], after[2] / before[2]]);
	return multiply(FROM_CONES, multiply(gains, TO_CONES));
}
