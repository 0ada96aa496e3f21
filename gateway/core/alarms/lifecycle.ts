/**
 * The life of alarms, with the states of ISA-18.2 / IEC 62682: unacknowledged, acknowledged, returned unacknowledged,
 * shelved by a person, suppressed by a mode; back to normal it leaves the lists.
 *
 * In: verdicts that hold now, the mode that is declared. Out: the alarms on the list, those set aside, and what
 * happened. A verdict must hold for its on-delay before it is annunciated and be gone for its off-delay before it
 * returns. Hazards to people stay until somebody acknowledges them after they are over, and are never set aside. One
 * alarm a key, however its wording sharpens. A shelf and a mode end by themselves; what then still stands is
 * annunciated anew.
 */
import { CAUSES, HELD_BACK } from '../../../config/causes/causes.ts';
import type { Alarm, AsideAlarm, Cause, Picture, Priority, Verdict } from '../../../config/wire/wire.ts';
import type { Consequence } from '../diagnosis/states/consequence.ts';
import { FRESH, isAside, priorityOf, rankOf, worseOf, type AlarmRecord } from './alarm-record.ts';
import { annunciated, setAside } from './alarm-lists.ts';
import { isKnown, rate } from './priority.ts';

/** For the record and for the books: an alarm asks for somebody (again), is over, or a shelf or mode has ended. */
export interface AlarmEvent {
  readonly kind: 'annunciated' | 'over' | 'back';
  readonly id: string;
  readonly priority: Priority;
  readonly words: string;
}

/**
 * A verdict that is likelier wrong than right must hold this long; one whose cause or subject wavers starts its delay
 * again, for a while.
 */
const DOUBTFUL_DELAY_S = 12;
const MOST_WAVERING_MS = 4_000;

/**
 * A worse priority must hold for the first of these, a better one for the second: it rises at once and falls calmly.
 * Judgement.
 */
const RISES_S = 6;
const FALLS_S = 120;

/** Minutes that an alarm may lie on the shelf: long enough for a walk, shorter than anybody forgets. Judgement. */
const SHELF_MIN: readonly [number, number] = [5, 60];

export class Alarms {
  readonly #entries = new Map<string, AlarmRecord>();
  #mode: Picture['mode'] = null;
  #events: AlarmEvent[] = [];

  /** `does`: what each trouble does, by id; what is not in it cannot be known now. Returns what happened. */
  update(
    verdicts: readonly Verdict[],
    nowMs: number,
    mode: Picture['mode'] = null,
    does: ReadonlyMap<string, Consequence | null> = new Map(),
  ): readonly AlarmEvent[] {
    this.#events = [];
    this.#mode = mode;
    const present = new Map(verdicts.map((verdict) => [verdict.id, verdict]));
    for (const verdict of verdicts) this.#file(verdict, does.get(verdict.id) ?? null, nowMs);
    for (const [id, entry] of this.#entries) {
      const [on, off] = CAUSES[entry.verdict.cause].delaysS;
      const verdict = present.get(id);
      if (verdict) {
        const doubtfulS = verdict.probability < 0.5 ? DOUBTFUL_DELAY_S : 0;
        const waits = entry.raisedMs === null || entry.clearedMs !== null;
        if (waits && nowMs - entry.sinceMs >= Math.max(on, doubtfulS) * 1_000)
          this.#raise(entry, verdict, does.get(id) ?? null, nowMs);
      } else this.#goneNow(id, entry, nowMs, off);
      this.#endAside(id, entry, nowMs);
    }
    return this.#events;
  }

  #file(verdict: Verdict, does: Consequence | null, nowMs: number): void {
    const entry = this.#entries.get(verdict.id);
    if (!entry) {
      const rated = rate(verdict.cause, does);
      this.#entries.set(verdict.id, { verdict, firstMs: nowMs, sinceMs: nowMs, ...FRESH, rated });
      return;
    }
    const comesAgain = entry.clearedMs !== null && entry.goneMs !== null;
    entry.goneMs = null;
    if (comesAgain) entry.firstMs = entry.sinceMs = nowMs;
    // What comes again while it lies on the shelf stays there; else what is over and not taken stays so until it is
    // back for sure.
    if (entry.shelf) entry.clearedMs = null;
    if (entry.clearedMs !== null) return;
    const before = entry.verdict.cause;
    const wavers = verdict.cause !== entry.verdict.cause || verdict.subject !== entry.verdict.subject;
    if (entry.raisedMs === null && wavers && nowMs - entry.firstMs < MOST_WAVERING_MS) entry.sinceMs = nowMs;
    entry.verdict = { ...verdict, sinceMs: Math.min(entry.verdict.sinceMs, verdict.sinceMs) };
    this.#weigh(entry, before, does, nowMs);
  }

  /**
   * Before it is flagged it counts as what it is now. Then a worse priority counts once it has held for a moment (at
   * once under a worse name), a better one once it has for minutes. While nobody can know what it does, it stays what
   * it was, or becomes the worse thing that its new name says.
   */
  #weigh(entry: AlarmRecord, before: Cause, does: Consequence | null, nowMs: number): void {
    const now = rate(entry.verdict.cause, does);
    const renamed = entry.verdict.cause !== before;
    const step = rankOf(now.priority) - rankOf(entry.rated.priority);
    if (!does && !(renamed && step < 0)) {
      entry.next = null;
      entry.doubt = isKnown(entry.rated) ? 'as last known' : null;
      return;
    }
    entry.doubt = null;
    if (step === 0 || entry.raisedMs === null) {
      entry.rated = now;
      entry.next = null;
      return;
    }
    const same =
      entry.next !== null && Math.sign(rankOf(entry.next.priority) - rankOf(entry.rated.priority)) === Math.sign(step);
    // Of the better ones it would be, the worst counts.
    const to = same && step > 0 ? worseOf(entry.next!.priority, now.priority) : now.priority;
    entry.next = { priority: to, sinceMs: same ? entry.next!.sinceMs : nowMs };
    const waitsS = step > 0 ? FALLS_S : renamed ? 0 : RISES_S;
    if (nowMs - entry.next.sinceMs < waitsS * 1_000) {
      if (step > 0) {
        entry.rated = { ...entry.rated, reason: now.reason };
        entry.doubt = `${to} if that lasts`;
      }
      return;
    }
    entry.rated = { priority: to, reason: now.reason };
    entry.next = null;
    if (step < 0) this.#rose(entry, nowMs);
  }

  /** Whoever knew of it knew of a lesser thing: no shelf and no acknowledgement holds for this one. */
  #rose(entry: AlarmRecord, nowMs: number): void {
    if (entry.held) return;
    if (entry.shelf) this.#back(entry.verdict.id, entry, nowMs, 'Off the shelf, it got worse');
    else if (entry.acknowledgedBy !== null)
      this.#back(entry.verdict.id, entry, nowMs, 'It got worse since it was acknowledged');
    else this.#tell('annunciated', entry, `Flagged as worse: ${entry.verdict.headline}`);
  }

  #raise(entry: AlarmRecord, verdict: Verdict, does: Consequence | null, nowMs: number): void {
    if (entry.clearedMs !== null) Object.assign(entry, { ...FRESH, verdict, rated: rate(verdict.cause, does) });
    entry.raisedMs = nowMs;
    entry.held = this.#holds(entry);
    if (!entry.held) this.#tell('annunciated', entry, `Flagged: ${entry.verdict.headline}`);
  }

  #goneNow(id: string, entry: AlarmRecord, nowMs: number, offS: number): void {
    entry.goneMs ??= nowMs;
    if (entry.raisedMs === null) {
      this.#entries.delete(id);
      return;
    }
    if (entry.clearedMs === null && nowMs - entry.goneMs >= offS * 1_000) {
      entry.clearedMs = nowMs;
      if (priorityOf(entry) === 'people') entry.acknowledgedBy = null;
      if (!entry.held) this.#tell('over', entry, `Over: ${entry.verdict.headline}`);
    }
    if (entry.clearedMs !== null && (entry.held || (entry.acknowledgedBy !== null && !entry.shelf)))
      this.#entries.delete(id);
  }

  /**
   * A shelf ends when its time is up or when what lies on it has become a worse thing; a mode holds what it names,
   * while it lasts.
   */
  #endAside(id: string, entry: AlarmRecord, nowMs: number): void {
    if (entry.raisedMs === null || !this.#entries.has(id)) return;
    const held = this.#holds(entry);
    if (entry.held && !held) this.#back(id, entry, nowMs, 'No longer held back by a mode');
    entry.held = held;
    if (!entry.shelf) return;
    if (nowMs >= entry.shelf.untilMs) this.#back(id, entry, nowMs, 'Shelf ended by itself');
  }

  #back(id: string, entry: AlarmRecord, nowMs: number, why: string): void {
    entry.shelf = null;
    entry.acknowledgedBy = null;
    entry.held = false;
    this.#tell(
      'back',
      entry,
      `${why}: ${entry.verdict.headline}${entry.clearedMs === null ? '' : ' (over meanwhile)'}`,
    );
    if (entry.clearedMs !== null) {
      this.#entries.delete(id);
      return;
    }
    entry.raisedMs = nowMs;
    if (!this.#holds(entry)) this.#tell('annunciated', entry, `Flagged: ${entry.verdict.headline}`);
  }

  #holds(entry: AlarmRecord): boolean {
    return this.#mode !== null && HELD_BACK[this.#mode.name].includes(entry.verdict.cause);
  }

  #tell(kind: AlarmEvent['kind'], entry: AlarmRecord, words: string): void {
    this.#events.push({ kind, id: entry.verdict.id, priority: priorityOf(entry), words });
  }

  /** All that is known of alarms now, in a form that can be written down. */
  get entries(): readonly (readonly [string, Readonly<AlarmRecord>])[] {
    return [...this.#entries];
  }

  /** Goes on from there; the mode comes with the next update. */
  restore(entries: Alarms['entries']): void {
    this.#entries.clear();
    for (const [id, entry] of entries) this.#entries.set(id, { ...entry });
  }

  /** False when no such alarm is on the list. */
  acknowledge(id: string, by: string): boolean {
    const entry = this.#entries.get(id);
    if (!entry || entry.raisedMs === null || isAside(entry)) return false;
    entry.acknowledgedBy = by;
    if (entry.clearedMs !== null) this.#entries.delete(id);
    return true;
  }

  /** Why it was not shelved, or null. */
  shelve(id: string, by: string, why: string, minutes: number, nowMs: number): string | null {
    const entry = this.#entries.get(id);
    if (!entry || entry.raisedMs === null) return `There is no alarm '${id}' on the list now.`;
    if (priorityOf(entry) === 'people') return 'A hazard to people cannot be shelved.';
    if (isAside(entry)) return 'It is set aside already.';
    if (why.trim() === '') return 'A shelf needs its reason, for whoever comes next.';
    if (!(minutes >= SHELF_MIN[0] && minutes <= SHELF_MIN[1]))
      return `A shelf lasts ${SHELF_MIN[0]} to ${SHELF_MIN[1]} minutes: then it ends by itself.`;
    entry.shelf = { by, why: why.trim(), untilMs: nowMs + minutes * 60_000 };
    return null;
  }

  /** Back onto the list; what is over meanwhile is gone. Why it was not taken off the shelf, or null. */
  unshelve(id: string): string | null {
    const entry = this.#entries.get(id);
    if (!entry?.shelf) return `There is no alarm '${id}' on the shelf now.`;
    entry.shelf = null;
    entry.acknowledgedBy = null;
    if (entry.clearedMs !== null) this.#entries.delete(id);
    return null;
  }

  list(): Alarm[] {
    return annunciated([...this.#entries.values()]);
  }

  setAside(): AsideAlarm[] {
    return setAside([...this.#entries.values()], this.#mode);
  }
}
