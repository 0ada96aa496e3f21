/**
 * What happened, on the time axis: notes, entries and alarms of a window, numbered from the oldest, and their marks.
 *
 * In: notes of the picture (newest first), window in ms on the run's clock. Out: numbered events; marks at shares 0..1
 * of the window, of which those too close to be told apart are one mark with a range of numbers.
 */
import type { Note } from '../../config/wire/wire.ts';

export interface TrendEvent extends Note {
  readonly number: number;
}

export interface EventMark {
  readonly share: number;
  /** `3`, or `3–5`. */
  readonly label: string;
  /** A person's doing is among them. */
  readonly byPerson: boolean;
}

export function eventsWithin(notes: readonly Note[], fromMs: number, toMs: number): TrendEvent[] {
  return notes
    .filter(({ atMs }) => atMs >= fromMs && atMs <= toMs)
    .toReversed()
    .map((note, index) => ({ ...note, number: index + 1 }));
}

export function marksOf(
  events: readonly TrendEvent[],
  fromMs: number,
  toMs: number,
  closestShare: number,
): EventMark[] {
  const groups: TrendEvent[][] = [];
  for (const event of events) {
    const last = groups.at(-1);
    if (last && event.atMs - last[0]!.atMs < closestShare * (toMs - fromMs)) last.push(event);
    else groups.push([event]);
  }
  return groups.map((group) => ({
    share: (group[0]!.atMs - fromMs) / (toMs - fromMs),
    label: group.length === 1 ? String(group[0]!.number) : `${group[0]!.number}–${group.at(-1)!.number}`,
    byPerson: group.some(({ by }) => by !== null),
  }));
}
