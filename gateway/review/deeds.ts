/**
 * What was done and noted in a run, in words: people's entries, and what the gateway noticed by itself.
 *
 * In: entries as they were stored, notes of the pictures, layout, alarms. Out: rows in order of time. A record of a
 * later version may hold kinds of entries that this one does not know: those are told by their kind.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Timeline } from '../../config/wire/review.ts';
import type { Note } from '../../config/wire/wire.ts';
import type { StoredEntry } from '../journal/run-reader.ts';
import type { Episode } from './episodes.ts';

export function deedsOf(
  entries: readonly StoredEntry[],
  notes: readonly Note[],
  layout: Layout,
  episodes: readonly Episode[],
): Timeline['deeds'] {
  const told = entries.map(({ atMs, entry, refusal }) => ({
    atMs,
    words: `${entryWords(entry, atMs, layout, episodes)}${refusal === null ? '' : ` (not taken: ${refusal})`}`,
    by: entry.by,
    refused: refusal !== null,
  }));
  // What people said is in the entries; of the notes only the gateway's own are new.
  const noticed = notes
    .filter(({ by }) => by === null)
    .map(({ atMs, words }) => ({ atMs, words, by: null, refused: false }));
  return [...told, ...noticed].sort((a, b) => a.atMs - b.atMs);
}

function entryWords(entry: Entry, atMs: number, layout: Layout, episodes: readonly Episode[]): string {
  const parts = [
    ...layout.heads,
    ...layout.hoses,
    ...layout.gates,
    ...layout.pumps,
    ...layout.sources,
    ...layout.sensors,
  ];
  const label = (id: string): string => parts.find((part) => part.id === id)?.label ?? id;
  const headline = (id: string): string =>
    episodes.find(
      ({ alarmId, raisedMs, goneMs }) => alarmId === id && raisedMs <= atMs && (goneMs ?? atMs) >= atMs - 1_000,
    )?.verdict.headline ?? id;
  const { kind } = entry;
  switch (entry.kind) {
    case 'note':
      return `note: ${entry.words}`;
    case 'acknowledge':
      return `took '${headline(entry.alarm)}'`;
    case 'mode':
      return entry.mode === null ? 'ended the mode' : `announced ${entry.mode} for ${entry.minutes} min`;
    case 'gate':
      return `set ${label(entry.gate)} to ${Math.round(100 * entry.opening)} %`;
    case 'looked':
      return `looked at ${label(entry.at)}: ${entry.found.replaceAll('-', ' ')}`;
    case 'shelve':
      return `put '${headline(entry.alarm)}' on the shelf for ${entry.minutes} min: ${entry.why}`;
    case 'unshelve':
      return `took '${headline(entry.alarm)}' off the shelf`;
    case 'assign':
      return `gave ${entry.record} of ${entry.device} the place ${label(entry.sensor)}`;
    case 'tare':
      return `set the zero of ${label(entry.sensor)} in open air`;
    case 'baseline':
      return `walked the lay: ${entry.headsSeenTurning.length} heads seen turning`;
    default:
      // A record of a later version may hold kinds that this one does not know.
      return kind;
  }
}
