/**
 * Alarm load against the targets of ISA-18.2 / IEC 62682: about 6 annunciated an hour acceptable and 12 the most
 * manageable, chattering none, stale below 5 a day, priorities near 80 / 15 / 5 (as two public summaries repeat that
 * table; the standards themselves were not read).
 */
import { describe, expect, it } from 'vitest';
import type { AlarmLoad } from '../../config/wire/wire.ts';
import { ACCEPTABLE_AN_HOUR, MOST_AN_HOUR, MOST_STALE, PRIORITY_SHARES } from '../../config/alarm-targets.ts';
import { loadRows } from '../../ui/words/alarm-load.ts';

const QUIET: AlarmLoad = {
  sinceMs: 0,
  lastHour: 0,
  worstHour: 0,
  worstHourMs: null,
  standing: 0,
  stale: 0,
  chattering: [],
  byPriority: { people: 0, high: 0, medium: 0, low: 0 },
};

function word(changes: Partial<AlarmLoad>, name: string): string {
  return loadRows({ ...QUIET, ...changes }, String).find((row) => row.name.startsWith(name))!.judged.word;
}

describe('alarm load', () => {
  it('has the targets of the standards', () => {
    expect([ACCEPTABLE_AN_HOUR, MOST_AN_HOUR, MOST_STALE]).toEqual([6, 12, 4]);
    expect(PRIORITY_SHARES).toEqual({ low: 0.8, medium: 0.15, high: 0.05 });
  });

  it.each([
    [0, 'within'],
    [6, 'within'],
    [7, 'over what is acceptable'],
    [12, 'over what is acceptable'],
    [13, 'over the most'],
  ])('judges %i in an hour as %s', (count, judged) => {
    expect(word({ lastHour: count }, 'Flagged in the last hour')).toBe(judged);
    expect(word({ worstHour: count, worstHourMs: 1 }, 'In the worst hour')).toBe(judged);
  });

  it('takes no chattering, and four stale ones at most', () => {
    expect(word({ chattering: ['x'] }, 'Chattering')).toBe('more than should be');
    expect([word({ stale: 4 }, 'Standing'), word({ stale: 5 }, 'Standing')]).toEqual(['within', 'more than should be']);
  });

  it('judges priorities once there are enough of them', () => {
    const of = (low: number, medium: number, high: number, people = 0): string =>
      word({ byPriority: { low, medium, high, people } }, 'Low / medium');
    expect(of(2, 2, 2)).toBe('too few to judge');
    expect(of(80, 15, 5)).toBe('within');
    expect(of(60, 20, 10, 10)).toBe('more than should be');
    expect(of(40, 60, 0)).toBe('more than should be');
    // Twice 20 % of medium and high together, twice 5 % of high: as many as may be, and one more.
    expect([of(60, 40, 0), of(59, 41, 0)]).toEqual(['within', 'more than should be']);
    expect([of(80, 10, 10), of(80, 9, 11)]).toEqual(['within', 'more than should be']);
    expect(loadRows({ ...QUIET, byPriority: { low: 16, medium: 3, high: 1, people: 0 } }, String).at(-1)!.is).toBe(
      '80 / 15 / 5 % of 20',
    );
  });
});
