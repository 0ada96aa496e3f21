/** The books on alarm load, against counts worked by hand. */
import { describe, expect, it } from 'vitest';
import type { AlarmEvent } from '../../gateway/core/alarms/lifecycle.ts';
import { LoadBooks } from '../../gateway/core/alarms/load.ts';
import { blankAlarm } from '../support/blank-picture.ts';

const MINUTE_MS = 60_000;
const annunciated = (id: string, priority: AlarmEvent['priority'] = 'low'): AlarmEvent => ({
  kind: 'annunciated',
  id,
  priority,
  words: '',
});

describe('alarm load', () => {
  it('counts the last hour, and remembers the worst one and when it ended', () => {
    const books = new LoadBooks();
    for (let minute = 0; minute < 300; minute += 1) {
      const many = minute >= 60 && minute < 70;
      books.file(many || minute % 30 === 0 ? [annunciated(`a-${minute}`)] : [], minute * MINUTE_MS);
    }
    // Ten from 60 to 69, and the one of minute 30.
    expect(books.figures([], 299 * MINUTE_MS)).toMatchObject({
      sinceMs: 0,
      lastHour: 2,
      worstHour: 11,
      worstHourMs: 69 * MINUTE_MS,
    });
  });

  it('counts what was annunciated and nothing else, by priority', () => {
    const books = new LoadBooks();
    books.file(
      [
        annunciated('a', 'high'),
        { ...annunciated('a', 'high'), kind: 'over' },
        { ...annunciated('b'), kind: 'back' },
        annunciated('c'),
        annunciated('d', 'people'),
      ],
      0,
    );
    expect(books.figures([], 0)).toMatchObject({ lastHour: 3, byPriority: { people: 1, high: 1, medium: 0, low: 1 } });
  });

  it('calls chattering what is annunciated three times within a minute, not what comes three times in two', () => {
    const books = new LoadBooks();
    for (const second of [0, 25, 55]) books.file([annunciated('quick')], second * 1_000);
    for (const second of [100, 135, 170]) books.file([annunciated('slow')], second * 1_000);
    expect(books.figures([], 170_000).chattering).toEqual(['quick']);
  });

  it('calls stale what has stood for more than a day, and counts nothing that is over', () => {
    const day = 24 * 60 * MINUTE_MS;
    const alarms = [
      blankAlarm('old'),
      blankAlarm('new', { raisedMs: 2 * MINUTE_MS }),
      blankAlarm('over', { clearedMs: 5, state: 'returned-unacknowledged' }),
    ];
    expect(new LoadBooks().figures(alarms, day + MINUTE_MS)).toMatchObject({ standing: 2, stale: 1 });
  });
});
