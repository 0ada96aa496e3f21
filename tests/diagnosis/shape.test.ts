/**
 * A step and a growth are told apart, and neither is seen in noise. Against least squares worked by hand, and against
 * seeded normal noise (tests' own dice); shares of right answers are counted over 200 runs each.
 */
import { describe, expect, it } from 'vitest';
import { misfit, shapeOf, type Shape } from '../../gateway/core/diagnosis/residuals/shape.ts';
import { SeededRandom } from '../../simulator/seeded-random.ts';

const RUNS = 200;

/** Of a minute at 1 Hz with noise of standard deviation 1. */
function shares(mean: (second: number) => number): Record<Shape | 'null', number> {
  const counts = { grows: 0, stepped: 0, null: 0 };
  for (let run = 0; run < RUNS; run += 1) {
    const dice = SeededRandom.named(9_000 + run, 'shape');
    const seconds = Array.from({ length: 60 }, (_, second) => second).filter(() => dice.uniform() > 0.06);
    counts[
      shapeOf(
        {
          timesMs: seconds.map((second) => 1_000 * second),
          values: seconds.map((second) => mean(second) + dice.normal()),
        },
        60_000,
      ) ?? 'null'
    ] += 1;
  }
  return counts;
}

describe('the shape of a change', () => {
  it('leaves of a step what a mean on either side leaves, and of a line what regression leaves', () => {
    const timesMs = [0, 1_000, 2_000, 3_000];
    // Means 1 and 5.5: 2 x 1 and 2 x 0.25.
    expect(misfit({ timesMs, values: [0, 2, 5, 6] }, 1_000, (ms) => (ms > 0 ? 1 : 0))).toBeCloseTo(2.5, 9);
    // Times about 1.5: -1.5, -0.5, 0.5, 1.5; values about 3.25; slope 10.5 / 5 = 2.1; 22.75 - 10.5 ** 2 / 5 = 0.7.
    expect(misfit({ timesMs, values: [0, 2, 5, 6] }, 0, (ms) => ms)).toBeCloseTo(0.7, 9);
  });

  it('is none in noise, nor in too few readings', () => {
    expect(shares(() => 0).null).toBeGreaterThanOrEqual(0.98 * RUNS);
    expect(shapeOf({ timesMs: [0, 1_000, 2_000], values: [0, 5, 10] }, 3_000)).toBeNull();
  });

  it('grows where it falls on, also at a fifth of its noise a second', () => {
    const found = shares((second) => -0.2 * Math.max(0, second - 20));
    expect(found.grows).toBeGreaterThanOrEqual(0.85 * RUNS);
    expect(found.stepped).toBe(0);
  });

  it('has stepped where it fell within three seconds and stands', () => {
    const found = shares((second) => -5 * Math.min(1, Math.max(0, second - 25) / 3));
    expect(found.stepped).toBeGreaterThanOrEqual(0.95 * RUNS);
    expect(found.grows).toBe(0);
  });

  it('is no growth yet where it began less than eight seconds ago', () => {
    const grown = (beganS: number): Shape | null => {
      const values = Array.from({ length: 61 }, (_, second) => -3 * Math.max(0, second - beganS));
      return shapeOf({ timesMs: values.map((_, second) => 1_000 * second), values }, 60_000);
    };
    expect(grown(40)).toBe('grows');
    expect(grown(55)).not.toBe('grows');
  });

  it('goes by the times between readings, not by the date', () => {
    const values = Array.from({ length: 60 }, (_, second) => -Math.max(0, second - 20));
    const at = (startMs: number): Shape | null =>
      shapeOf({ timesMs: values.map((_, second) => startMs + 1_000 * second), values }, startMs + 60_000);
    expect([at(0), at(Date.UTC(2026, 6, 14))]).toEqual(['grows', 'grows']);
  });
});
