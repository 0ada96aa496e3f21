/** Small dense Gaussian algebra against printed factorisations and closed forms. */
import { describe, expect, it } from 'vitest';
import { cholesky, dot, projected, solveWith, timesSymmetric, whiten } from '../../gateway/core/statistics/gaussian.ts';

describe('cholesky', () => {
  // The worked example of the encyclopaedia article 'Cholesky decomposition': integers throughout.
  const matrix = Float64Array.from([4, 12, -16, 12, 37, -43, -16, -43, 98]);

  it('gives the printed factor and determinant', () => {
    const factor = cholesky(matrix, 3);
    expect([...factor.lower]).toEqual([2, 0, 0, 6, 1, 0, -8, 5, 3]);
    expect(factor.logDeterminant).toBeCloseTo(Math.log(36), 12);
  });

  it('solves and whitens consistently: x A^-1 x is the squared length of the whitened x', () => {
    const factor = cholesky(matrix, 3);
    const x = [1, -2, 5];
    expect(dot(x, solveWith(factor, x))).toBeCloseTo(dot(whiten(factor, x), whiten(factor, x)), 10);
    const back = solveWith(factor, [4, 12, -16]);
    expect([...back].map((value) => Math.round(value * 1e9) / 1e9)).toEqual([1, 0, 0]);
  });

  it('refuses a matrix that is no covariance', () => {
    expect(() => cholesky(Float64Array.from([1, 2, 2, 1]), 2)).toThrow(/not positive definite at row 1/);
  });
});

it('projects a parameter covariance: variance of a sum is the sum of variances plus twice the covariance', () => {
  const covariance = Float64Array.from([4, 1, 1, 9]);
  expect([...projected(Float64Array.from([1, 1, 1, -1]), 2, covariance, 2)]).toEqual([15, -5, -5, 11]);
});

it('multiplies by a covariance as the definition of a product says, for rows of any number of parameters that matter', () => {
  const n = 7;
  const covariance = Float64Array.from({ length: n * n }, (_, at) => {
    const [row, column] = [Math.floor(at / n), at % n];
    return 10 * Math.min(row, column) + Math.max(row, column) + 1;
  });
  const row = [2, 3, 5, 7, 11, 13, 17];
  for (let used = 0; used <= n; used += 1) {
    const jacobian = Float64Array.from([...row.map((value, at) => (at < used ? value : 0)), ...row.toReversed()]);
    const by = (which: number): number[] =>
      Array.from({ length: n }, (_, column) =>
        row.reduce((sum, _value, k) => sum + jacobian[which * n + k]! * covariance[k * n + column]!, 0),
      );
    expect([...timesSymmetric(jacobian, 2, covariance, n)]).toEqual([...by(0), ...by(1)]);
  }
});
