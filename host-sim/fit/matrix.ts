/**
 * The little linear algebra that confidence bounds need: the inverse of a small, symmetric, positive
 * matrix. Rows of numbers in and out.
 */

export type Matrix = readonly (readonly number[])[];

/** A pivot under this share of its diagonal counts as zero: the direction is not seen at all. */
const PIVOT_MIN = 1e-12;

/**
 * The inverse of a symmetric positive matrix by Gauss and Jordan, scaled to a unit diagonal first, so
 * that units do not matter (Golub & Van Loan, Matrix Computations, ch. 3; from memory). Undefined if
 * it has none to working accuracy.
 */
export function inverse(matrix: Matrix): number[][] | undefined {
  const size = matrix.length;
  const scale = matrix.map((row, i) => Math.sqrt(row[i]));
  if (scale.some((value) => !(value > 0))) return undefined;
  const rows = matrix.map((row, i) => [
    ...row.map((value, j) => value / (scale[i] * scale[j])),
    ...row.map((_, j) => (i === j ? 1 : 0)),
  ]);
  for (let column = 0; column < size; column += 1) {
    if (!eliminate(rows, column)) return undefined;
  }
  return rows.map((row, i) => row.slice(size).map((value, j) => value / (scale[i] * scale[j])));
}

/** Makes a column a unit column; false if its pivot is zero. A positive matrix needs no swaps. */
function eliminate(rows: number[][], column: number): boolean {
  const pivot = rows[column][column];
  if (!(pivot > PIVOT_MIN)) return false;
  rows[column] = rows[column].map((value) => value / pivot);
  rows.forEach((row, i) => {
    const factor = row[column];
    if (i === column || factor === 0) return;
    rows[i] = row.map((value, j) => value - factor * rows[column][j]);
  });
  return true;
}
