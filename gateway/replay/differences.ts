/**
 * In what two tellings of one run differ: what was flagged then, and what today's rules would have flagged.
 *
 * In: the alarm episodes of both. Out: what only one of them has, and where the same alarm came at another time, was
 * called by another name, pointed elsewhere or had another priority. Times in ms on the run's clock.
 * Judgement: episodes of one alarm belong together when they overlap, or were raised within two minutes of each other.
 */
import type { Episode } from '../review/episodes.ts';

export interface Difference {
  readonly kind:
    'only-then' | 'only-today' | 'other-time' | 'other-cause' | 'other-place' | 'other-priority' | 'other-end';
  readonly atMs: number;
  readonly subject: string;
  readonly then: Episode | null;
  readonly today: Episode | null;
}

const TOGETHER_MS = 120_000;
const SAME_MS = 1_000;

export function differencesOf(then: readonly Episode[], today: readonly Episode[]): Difference[] {
  const left = new Set(today);
  const differences: Difference[] = [];
  for (const old of then) {
    const partner = [...left].find((one) => one.alarmId === old.alarmId && together(old, one));
    if (!partner) {
      differences.push({ kind: 'only-then', atMs: old.raisedMs, subject: old.verdict.subject, then: old, today: null });
      continue;
    }
    left.delete(partner);
    differences.push(...between(old, partner));
  }
  for (const one of left)
    differences.push({ kind: 'only-today', atMs: one.raisedMs, subject: one.verdict.subject, then: null, today: one });
  return differences.sort((a, b) => a.atMs - b.atMs);
}

function together(a: Episode, b: Episode): boolean {
  const overlap = a.raisedMs <= (b.goneMs ?? Infinity) && b.raisedMs <= (a.goneMs ?? Infinity);
  return overlap || Math.abs(a.raisedMs - b.raisedMs) <= TOGETHER_MS;
}

function between(then: Episode, today: Episode): Difference[] {
  const told = { atMs: then.raisedMs, subject: then.verdict.subject, then, today };
  const out: Difference[] = [];
  if (Math.abs(then.raisedMs - today.raisedMs) > SAME_MS) out.push({ kind: 'other-time', ...told });
  if (then.verdict.cause !== today.verdict.cause) out.push({ kind: 'other-cause', ...told });
  else if (then.verdict.places[0]?.id !== today.verdict.places[0]?.id) out.push({ kind: 'other-place', ...told });
  if (then.priority !== today.priority) out.push({ kind: 'other-priority', ...told });
  if (Math.abs((then.clearedMs ?? Infinity) - (today.clearedMs ?? Infinity)) > SAME_MS)
    out.push({ kind: 'other-end', ...told });
  return out;
}
