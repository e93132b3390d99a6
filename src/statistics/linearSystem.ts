/** Square systems of linear equations by Gaussian elimination with the greatest pivot first, and least squares through them. */

/** Solves `matrix` x = `right`; rows first, neither is changed. RangeError for a system without one solution. */
export function solveLinear(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
	const size = right.length;
	const rows = matrix.map((row, i) => [...row, right[i]!]);
	for (let column = 0; column < size; column++) {
		let best = column;
		for (let row = column + 1; row < size; row++)
			if (Math.abs(rows[row]![column]!) > Math.abs(rows[best]![column]!)) best = row;
		const pivotRow = rows[best]!;
		if (!(Math.abs(pivotRow[column]!) > 1e-12))
			throw new RangeError('these equations have no single solution');
		rows[best] = rows[column]!;
		rows[column] = pivotRow;
		for (let row = column + 1; row < size; row++) {
			const factor = rows[row]![column]! / pivotRow[column]!;
			for (let at = column; at <= size; at++) rows[row]![at]! -= factor * pivotRow[at]!;
		}
	}
	const solution = new Array<number>(size).fill(0);
	for (let row = size - 1; row >= 0; row--) {
		let sum = rows[row]![size]!;
		for (let at = row + 1; at < size; at++) sum -= rows[row]![at]! * solution[at]!;
		solution[row] = sum / rows[row]![row]!;
	}
	return solution;
}

/** Least squares by the normal equations: columns of `terms` against `values`. Scale the terms to about 1 beforehand. */
export function leastSquares(terms: readonly (readonly number[])[], values: readonly number[]): number[] {
	const width = terms[0]?.length ?? 0;
	if (terms.length < width || width === 0)
		throw new RangeError(`${width} unknowns need at least as many equations, got ${terms.length}`);
	const normal = Array.from({ length: width }, () => new Array<number>(width).fill(0));
	const right = new Array<number>(width).fill(0);
	for (const [i, term] of terms.entries())
		for (let row = 0; row < width; row++) {
			right[row]! += term[row]! * values[i]!;
			for (let column = 0; column < width; column++) normal[row]![column]! += term[row]! * term[column]!;
		}
	return solveLinear(normal, right);
}
