/**
 * One alarm with all that is known of it, and how priorities rank.
 *
 * In: nothing. Out: the record that the life of alarms keeps of each; times in ms since 1970. It can be written down as
 * it is.
 */
import type { Priority, Verdict } from '../../../config/wire/wire.ts';
import type { Rated } from './priority.ts';

/** Worst first. */
const ORDER: readonly Priority[] = ['people', 'high', 'medium', 'low'];

export interface AlarmRecord {
  verdict: Verdict;
  firstMs: number;
  sinceMs: number;
  goneMs: number | null;
  raisedMs: number | null;
  clearedMs: number | null;
  acknowledgedBy: string | null;
  /** As it counts, and what it would be by what is known now, since when. */
  rated: Rated;
  next: { readonly priority: Priority; readonly sinceMs: number } | null;
  /** Said after the reason, while it does not hold for now as it stands; null: it does. */
  doubt: string | null;
  shelf: { readonly by: string; readonly why: string; readonly untilMs: number } | null;
  /** By the mode that is on. */
  held: boolean;
}

/** Of one that has just come. */
export const FRESH = {
  goneMs: null,
  raisedMs: null,
  clearedMs: null,
  acknowledgedBy: null,
  next: null,
  doubt: null,
  shelf: null,
  held: false,
} as const;

export const priorityOf = (entry: AlarmRecord): Priority => entry.rated.priority;
export const rankOf = (priority: Priority): number => ORDER.indexOf(priority);
/** The worse of two. */
export const worseOf = (one: Priority, other: Priority): Priority => (rankOf(one) < rankOf(other) ? one : other);
export const isAside = (entry: AlarmRecord): boolean => entry.shelf !== null || entry.held;
