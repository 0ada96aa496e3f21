/** Events on the time axis: what falls into the window, in what order, and how close ones share a mark. */
import { describe, expect, it } from 'vitest';
import type { Note } from '../../config/wire/wire.ts';
import { eventsWithin, marksOf } from '../../ui/state/trend-events.ts';

const note = (atMs: number, words: string, by: string | null = null): Note => ({ atMs, words, by });
/** Newest first, as the gateway tells them. */
const NOTES = [note(9_000, 'e'), note(5_200, 'd', 'AB'), note(5_100, 'c'), note(1_000, 'b'), note(-1, 'a')];

describe('events on the time axis', () => {
  it('numbers what falls into the window from the oldest', () => {
    expect(eventsWithin(NOTES, 0, 10_000).map(({ number, words }) => `${number} ${words}`)).toEqual([
      '1 b',
      '2 c',
      '3 d',
      '4 e',
    ]);
    expect(eventsWithin(NOTES, 0, 5_150).map(({ words }) => words)).toEqual(['b', 'c']);
    expect(eventsWithin([], 0, 10_000)).toEqual([]);
  });

  it('puts a mark where each happened, one for those that lie too close, and shows that a person was in it', () => {
    expect(marksOf(eventsWithin(NOTES, 0, 10_000), 0, 10_000, 0.02)).toEqual([
      { share: 0.1, label: '1', byPerson: false },
      { share: 0.51, label: '2–3', byPerson: true },
      { share: 0.9, label: '4', byPerson: false },
    ]);
  });

  it('loses none: every number stands in exactly one mark', () => {
    const events = eventsWithin(
      Array.from({ length: 50 }, (_, index) => note(10_000 - index * 137, 'x')),
      0,
      10_000,
    );
    const told = marksOf(events, 0, 10_000, 0.04).flatMap(({ label }) => {
      const [first, last = first] = label.split('–').map(Number);
      return Array.from({ length: last! - first! + 1 }, (_, index) => first! + index);
    });
    expect(told).toEqual(events.map(({ number }) => number));
  });
});
