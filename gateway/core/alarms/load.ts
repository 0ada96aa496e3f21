/**
 * How much the alarms ask of people: annunciated in the last and in the worst hour, standing, stale, chattering,
 * priorities.
 *
 * In: what happened to alarms with its time, once a second what stands. Out: counts since the run began. The figures
 * are those of ISA-18.2 / IEC 62682; the screen holds them against that standard's targets.
 */
import { CHATTER_COUNT, CHATTER_MS, STALE_MS } from '../../../config/alarm-targets.ts';
import type { Alarm, AlarmLoad, Priority } from '../../../config/wire/wire.ts';
import type { AlarmEvent } from './lifecycle.ts';

const HOUR_MS = 3_600_000;

/** What was counted so far, in a form that can be written down. */
export interface LoadCount {
  readonly byPriority: Readonly<Record<Priority, number>>;
  readonly chattering: readonly string[];
  readonly recent: readonly { readonly atMs: number; readonly id: string }[];
  readonly sinceMs: number | null;
  readonly worst: { readonly count: number; readonly endMs: number | null };
}

const NOTHING_YET: LoadCount = {
  byPriority: { people: 0, high: 0, medium: 0, low: 0 },
  chattering: [],
  recent: [],
  sinceMs: null,
  worst: { count: 0, endMs: null },
};

export class LoadBooks {
  #byPriority = { ...NOTHING_YET.byPriority };
  #chattering = new Set<string>();
  /** Of the last hour, oldest first. */
  #recent: { readonly atMs: number; readonly id: string }[] = [];
  #sinceMs: number | null = null;
  #worst = NOTHING_YET.worst;

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

  get count(): LoadCount {
    return {
      byPriority: { ...this.#byPriority },
      chattering: [...this.#chattering],
      recent: [...this.#recent],
      sinceMs: this.#sinceMs,
      worst: this.#worst,
    };
  }

  /** Goes on from there; null: counts anew. */
  restore(count: LoadCount | null): void {
    const kept = count ?? NOTHING_YET;
    this.#byPriority = { ...kept.byPriority };
    this.#chattering = new Set(kept.chattering);
    this.#recent = [...kept.recent];
    this.#sinceMs = kept.sinceMs;
    this.#worst = kept.worst;
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
