/** Three-by-three matrices, as much of them as colour conversion asks for. Rows first. */

export type Vector3 = readonly [number, number, number];
export type Matrix3 = readonly [Vector3, Vector3, Vector3];

export function transform(matrix: Matrix3, vector: Vector3): Vector3 {
	return [dot(matrix[0], vector), dot(matrix[1], vector), dot(matrix[2], vector)];
}

export function multiply(left: Matrix3, right: Matrix3): Matrix3 {
	const [first, second, third] = transpose(right);
	const row = (of: Vector3): Vector3 => [dot(of, first), dot(of, second), dot(of, third)];
	return [row(left[0]), row(left[1]), row(left[2])];
}

/** The matrix that stretches each axis by its own factor. */
export function diagonal([x, y, z]: Vector3): Matrix3 {
	return [
		[x, 0, 0],
		[0, y, 0],
		[0, 0, z],
	];
}

/** RangeError when the matrix has no inverse. */
export function invert(matrix: Matrix3): Matrix3 {
	const [first, second, third] = matrix;
	const determinant = dot(first, cross(second, third));
	if (determinant === 0) throw new RangeError('a matrix without an inverse cannot be inverted');
	const scaled = (vector: Vector3): Vector3 => [
		vector[0] / determinant,
		vector[1] / determinant,
		vector[2] / determinant,
	];
	return transpose([scaled(cross(second, third)), scaled(cross(third, first)), scaled(cross(first, second))]);
}

function dot(a: Vector3, b: Vector3): number {
	return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function cross(a: Vector3, b: Vector3): Vector3 {
	return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function transpose([a, b, c]: Matrix3): Matrix3 {
	return [
		[a[0], b[0], c[0]],
		[a[1], b[1], c[1]],
		[a[2], b[2], c[2]],
	];
}
