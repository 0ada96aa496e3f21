/**
 * How much the alarms ask of people: annunciated in the last and in the worst hour, standing, stale, chattering,
 * priorities.
 *
 * In: what happened to alarms with its time, once a second what stands. Out: counts since the run began. The figures
 * are those of ISA-18.2 / IEC 62682; the screen holds them against that standard's targets.
 */
import { CHATTER_COUNT, CHATTER_MS, STALE_MS } from '../../config/alarm-targets.ts';
import type { Alarm, AlarmLoad, Priority } from '../../config/wire.ts';
import type { AlarmEvent } from './lifecycle.ts';

const HOUR_MS = 3_600_000;

export class LoadBooks {
  readonly #byPriority: Record<Priority, number> = { people: 0, high: 0, medium: 0, low: 0 };
  readonly #chattering = new Set<string>();
  /** Of the last hour, oldest first. */
  #recent: { readonly atMs: number; readonly id: string }[] = [];
  #sinceMs: number | null = null;
  #worst: { readonly count: number; readonly endMs: number | null } = { count: 0, endMs: null };

  file(events: readonly AlarmEvent[], nowMs: number): void {
    this.#sinceMs ??= nowMs;
    this.#recent = this.#recent.filter(({ atMs }) => nowMs - atMs < HOUR_MS);
    for (const { kind, id, priority } of events) {
      if (kind !== 'annunciated') continue;
      this.#byPriority[priority] += 1;
      this.#recent.push({ atMs: nowMs, id });
      if (this.#recent.filter((one) => one.id === id && nowMs - one.atMs < CHATTER_MS).length >= CHATTER_COUNT)
        this.#chattering.add(id);
    }
    if (this.#recent.length > this.#worst.count) this.#worst = { count: this.#recent.length, endMs: nowMs };
  }

  figures(alarms: readonly Alarm[], nowMs: number): AlarmLoad {
    const standing = alarms.filter(({ clearedMs }) => clearedMs === null);
    return {
      sinceMs: this.#sinceMs ?? nowMs,
      lastHour: this.#recent.length,
      worstHour: this.#worst.count,
      worstHourMs: this.#worst.endMs,
      standing: standing.length,
      stale: standing.filter(({ raisedMs }) => nowMs - raisedMs > STALE_MS).length,
      chattering: [...this.#chattering],
      byPriority: { ...this.#byPriority },
    };
  }
}
