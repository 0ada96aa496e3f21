/** Drawing arithmetic of the time line: round moments, no more than fit, and gaps that stay gaps. */
import { describe, expect, it } from 'vitest';
import { columnPath, timeTicks } from '../../ui/state/review-axis.ts';

const HOUR_MS = 3_600_000;
const START = Date.UTC(2026, 6, 14, 6);
const hoursOf = (ticks: readonly number[]): number[] => ticks.map((atMs) => (atMs - START) / HOUR_MS);

describe('ticks of time', () => {
  it('stand at round moments from the first within the span to the last, at most as many as asked for', () => {
    expect(hoursOf(timeTicks(START, START + 6 * HOUR_MS, 6))).toEqual([0, 1, 2, 3, 4, 5, 6]);
    expect(hoursOf(timeTicks(START + 1, START + 7 * HOUR_MS, 6))).toEqual([2, 4, 6]);
    expect(timeTicks(START, START, 6)).toEqual([START]);
  });

  it('stand whole days apart over weeks: of four weeks in six steps every fifth', () => {
    const midnight = Date.UTC(2026, 6, 14);
    const days = timeTicks(midnight, midnight + 28 * 24 * HOUR_MS, 6).map((atMs) => atMs / (24 * HOUR_MS));
    expect(days.length).toBeLessThanOrEqual(6);
    expect(days.length).toBeGreaterThan(4);
    expect(days.every((day) => Number.isInteger(day))).toBe(true);
    expect(days.slice(1).map((day, index) => day - days[index]!)).toEqual(days.slice(1).map(() => 5));
  });
});

describe('a path', () => {
  it('breaks where nothing was measured', () => {
    const path = columnPath(
      [0, 1, 2, 3],
      [1, 2, null, 4],
      (atMs) => 10 * atMs,
      (value) => value,
    );
    expect(path).toBe('M0.0 1.0L10.0 2.0M30.0 4.0');
  });
});
