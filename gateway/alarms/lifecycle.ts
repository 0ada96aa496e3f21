/**
 * The life of alarms, with the states of ISA-18.2 / IEC 62682: unacknowledged, acknowledged, returned unacknowledged;
 * back to normal it leaves the list.
 *
 * In: verdicts that hold now. A verdict must hold for its on-delay before it is annunciated and be gone for its
 * off-delay before it returns. Hazards to people stay until somebody acknowledges them after they are over. One alarm
 * a key, however its wording sharpens.
 */
import type { Alarm, Cause, Priority, Verdict } from '../../config/wire.ts';

/** Seconds a cause must hold, and be gone. Judgement; the standard's usual 15 s for pressure is too slow for an open hose. */
const DELAYS_S: Partial<Record<Cause, readonly [number, number]>> = {
  'pump-stop': [3, 5],
  'dead-head': [0, 10],
  'suction-trouble': [5, 10],
  'sensor-silent': [0, 3],
  shock: [0, 3],
  'sensor-stuck': [0, 3],
  'tank-low': [10, 30],
  'tank-overfull': [10, 30],
  'fuel-low': [10, 30],
  'hose-burst': [2, 6],
  'gate-shut': [2, 6],
  unexplained: [15, 10],
  'sensor-drift': [10, 10],
  'sensor-swapped': [6, 10],
};
const USUAL_DELAY_S: readonly [number, number] = [3, 6];

/** A verdict that is likelier wrong than right must hold this long; one whose cause wavers starts its delay again, for a while. */
const DOUBTFUL_DELAY_S = 12;
const MOST_WAVERING_MS = 4_000;

const PRIORITIES: Record<Cause, Priority> = {
  'dead-head': 'people',
  'pump-stop': 'high',
  'hose-burst': 'high',
  'suction-trouble': 'high',
  'head-off': 'medium',
  'gate-shut': 'medium',
  restriction: 'medium',
  'tank-low': 'medium',
  'tank-leak': 'medium',
  'tank-overfull': 'low',
  'fuel-low': 'medium',
  shock: 'low',
  'pump-fade': 'medium',
  unexplained: 'medium',
  'head-stalled': 'low',
  leak: 'low',
  plug: 'low',
  'sensor-silent': 'low',
  'sensor-stuck': 'low',
  'sensor-drift': 'low',
  'sensor-swapped': 'low',
};
const ORDER: readonly Priority[] = ['people', 'high', 'medium', 'low'];

interface Entry {
  verdict: Verdict;
  firstMs: number;
  sinceMs: number;
  goneMs: number | null;
  raisedMs: number | null;
  clearedMs: number | null;
  acknowledgedBy: string | null;
}

export class Alarms {
  readonly #entries = new Map<string, Entry>();

  update(verdicts: readonly Verdict[], nowMs: number): void {
    const present = new Map(verdicts.map((verdict) => [verdict.id, verdict]));
    for (const verdict of verdicts) {
      const entry = this.#entries.get(verdict.id);
      if (!entry) {
        this.#entries.set(verdict.id, { verdict, firstMs: nowMs, sinceMs: nowMs, goneMs: null, raisedMs: null, clearedMs: null, acknowledgedBy: null });
        continue;
      }
      if (entry.clearedMs !== null) Object.assign(entry, { firstMs: nowMs, sinceMs: nowMs, raisedMs: null, clearedMs: null, acknowledgedBy: null });
      entry.goneMs = null;
      if (entry.raisedMs === null && verdict.cause !== entry.verdict.cause && nowMs - entry.firstMs < MOST_WAVERING_MS) entry.sinceMs = nowMs;
      entry.verdict = { ...verdict, sinceMs: Math.min(entry.verdict.sinceMs, verdict.sinceMs) };
    }
    for (const [id, entry] of this.#entries) {
      const [on, off] = DELAYS_S[entry.verdict.cause] ?? USUAL_DELAY_S;
      if (present.has(id)) {
        const doubtfulS = entry.verdict.probability < 0.5 ? DOUBTFUL_DELAY_S : 0;
        if (entry.raisedMs === null && nowMs - entry.sinceMs >= Math.max(on, doubtfulS) * 1_000) entry.raisedMs = nowMs;
      } else this.#goneNow(id, entry, nowMs, off);
    }
  }

  #goneNow(id: string, entry: Entry, nowMs: number, offS: number): void {
    entry.goneMs ??= nowMs;
    if (entry.raisedMs === null) {
      this.#entries.delete(id);
      return;
    }
    if (entry.clearedMs === null && nowMs - entry.goneMs >= offS * 1_000) {
      entry.clearedMs = nowMs;
      if (PRIORITIES[entry.verdict.cause] === 'people') entry.acknowledgedBy = null;
    }
    if (entry.clearedMs !== null && entry.acknowledgedBy !== null) this.#entries.delete(id);
  }

  /** False when no such alarm is on the list. */
  acknowledge(id: string, by: string): boolean {
    const entry = this.#entries.get(id);
    if (!entry || entry.raisedMs === null) return false;
    entry.acknowledgedBy = by;
    if (entry.clearedMs !== null) this.#entries.delete(id);
    return true;
  }

  /** Worst first: standing before returned, then priority, then oldest. */
  list(): Alarm[] {
    const alarms = [...this.#entries.values()].filter((entry) => entry.raisedMs !== null).map((entry): Alarm => ({
      verdict: entry.verdict,
      priority: PRIORITIES[entry.verdict.cause],
      state: entry.clearedMs !== null ? 'returned-unacknowledged' : entry.acknowledgedBy === null ? 'unacknowledged' : 'acknowledged',
      raisedMs: entry.raisedMs!,
      clearedMs: entry.clearedMs,
      acknowledgedBy: entry.acknowledgedBy,
    }));
    const rank = (alarm: Alarm): number => (alarm.clearedMs === null ? 0 : 10) + ORDER.indexOf(alarm.priority);
    return alarms.sort((a, b) => rank(a) - rank(b) || a.raisedMs - b.raisedMs || (a.verdict.id < b.verdict.id ? -1 : 1));
  }
}
