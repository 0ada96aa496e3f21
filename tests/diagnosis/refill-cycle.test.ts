/** The swing of a tank that is refilled again and again: what is usual, since when it is known, and how long. */
import { describe, expect, it } from 'vitest';
import { RefillCycle } from '../../gateway/core/diagnosis/supply/refill-cycle.ts';

const HOUR_MS = 3_600_000;

/** Runs down from 10 to 4 m3 and is refilled in so many seconds, so often, an hour from one refill's end to the next. */
function refilled(times: number, fillS = 600): RefillCycle {
  const cycle = new RefillCycle();
  for (let time = 1; time <= times; time += 1) {
    const endMs = time * HOUR_MS;
    cycle.observe(endMs - 1_000 * fillS - 1_000, 4, false);
    cycle.observe(endMs - 1_000 * fillS, 4, true);
    cycle.observe(endMs, 10, false);
  }
  return cycle;
}

describe('the swing of a tank', () => {
  it('is known after two refills: as low as before them is usual, and no lower by more than a margin', () => {
    expect(refilled(1).holds(4)).toBe(false);
    const cycle = refilled(2);
    expect([cycle.holds(4), cycle.holds(3)]).toEqual([true, false]);
    expect([cycle.isUp(9), cycle.isUp(7)]).toEqual([true, false]);
  });

  it('is not made by a rise that ends within a minute: that is a wave, or a hose that was tried', () => {
    expect(refilled(2, 59).holds(4)).toBe(false);
    expect(refilled(2, 60).holds(4)).toBe(true);
  });

  it('is forgotten half a day after the refills that made it', () => {
    const known = (afterH: number): boolean => {
      const cycle = refilled(3);
      cycle.observe((2 + afterH) * HOUR_MS, 4, false);
      return cycle.holds(4);
    };
    expect(known(11.9)).toBe(true);
    expect(known(12)).toBe(false);
  });
});
