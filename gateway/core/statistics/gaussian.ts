/**
 * Small dense Gaussian algebra: covariances of a dozen channels, and the update of a hundred parameters by them.
 *
 * Matrices are row-major Float64Array with their size beside them. Cholesky factorisation after Golub & Van Loan,
 * Matrix Computations, algorithm 4.2.2 (from memory). Meant for sizes up to about 150.
 */

export interface Cholesky {
  readonly size: number;
  readonly lower: Float64Array;
  readonly logDeterminant: number;
}

/** Factors a symmetric positive definite matrix; throws RangeError where it is not. */
export function cholesky(matrix: Float64Array, size: number): Cholesky {
  const lower = new Float64Array(size * size);
  let logDeterminant = 0;
  for (let row = 0; row < size; row += 1) {
    for (let column = 0; column <= row; column += 1) {
      let sum = matrix[row * size + column]!;
      for (let k = 0; k < column; k += 1) sum -= lower[row * size + k]! * lower[column * size + k]!;
      if (row === column) {
        if (!(sum > 0)) throw new RangeError(`covariance is not positive definite at row ${row}`);
        lower[row * size + row] = Math.sqrt(sum);
        logDeterminant += Math.log(sum);
      } else lower[row * size + column] = sum / lower[column * size + column]!;
    }
  }
  return { size, lower, logDeterminant };
}

/** L^-1 v: turns a residual into independent unit normals. */
export function whiten(factor: Cholesky, vector: ArrayLike<number>): Float64Array {
  const { size, lower } = factor;
  const out = new Float64Array(size);
  for (let row = 0; row < size; row += 1) {
    let sum = vector[row]!;
    for (let k = 0; k < row; k += 1) sum -= lower[row * size + k]! * out[k]!;
    out[row] = sum / lower[row * size + row]!;
  }
  return out;
}

/** A^-1 v from A's factor. */
export function solveWith(factor: Cholesky, vector: ArrayLike<number>): Float64Array {
  const { size, lower } = factor;
  const out = whiten(factor, vector);
  for (let row = size - 1; row >= 0; row -= 1) {
    let sum = out[row]!;
    for (let k = row + 1; k < size; k += 1) sum -= lower[k * size + row]! * out[k]!;
    out[row] = sum / lower[row * size + row]!;
  }
  return out;
}

export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

export function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < a.length; i += 1) sum += a[i]! * b[i]!;
  return sum;
}

/**
 * J P, with J rows x n and P n x n symmetric. Four parameters at a time, in the order of one at a time: the same bytes,
 * sooner.
 */
export function timesSymmetric(
  jacobian: Float64Array,
  rows: number,
  covariance: Float64Array,
  n: number,
): Float64Array {
  const out = new Float64Array(rows * n);
  const used = new Int32Array(n);
  for (let row = 0; row < rows; row += 1) {
    const to = row * n;
    let count = 0;
    for (let k = 0; k < n; k += 1) if (jacobian[to + k] !== 0) used[count++] = k;
    let next = 0;
    for (; next + 4 <= count; next += 4) {
      const [a, b, c, d] = [used[next]! * n, used[next + 1]! * n, used[next + 2]! * n, used[next + 3]! * n];
      const [p, q, r, s] = [
        jacobian[to + used[next]!]!,
        jacobian[to + used[next + 1]!]!,
        jacobian[to + used[next + 2]!]!,
        jacobian[to + used[next + 3]!]!,
      ];
      for (let column = 0; column < n; column += 1) {
        out[to + column] =
          out[to + column]! +
          p * covariance[a + column]! +
          q * covariance[b + column]! +
          r * covariance[c + column]! +
          s * covariance[d + column]!;
      }
    }
    for (; next < count; next += 1) {
      const from = used[next]! * n;
      const weight = jacobian[to + used[next]!]!;
      for (let column = 0; column < n; column += 1) out[to + column]! += weight * covariance[from + column]!;
    }
  }
  return out;
}

/** J P J^T: parameter covariance as seen in the channels. */
export function projected(jacobian: Float64Array, rows: number, covariance: Float64Array, n: number): Float64Array {
  const product = timesSymmetric(jacobian, rows, covariance, n);
  const out = new Float64Array(rows * rows);
  for (let row = 0; row < rows; row += 1) {
    for (let column = 0; column <= row; column += 1) {
      let value = 0;
      for (let k = 0; k < n; k += 1) value += product[row * n + k]! * jacobian[column * n + k]!;
      out[row * rows + column] = value;
      out[column * rows + row] = value;
    }
  }
  return out;
}
