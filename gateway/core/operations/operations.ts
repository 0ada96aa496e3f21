/**
 * What people told the gateway, as it stands now: gates by order, the mode with its expiry, notes, what was found where
 * somebody looked, and when each head was last seen turning.
 *
 * In: entries with their time. Out: the present state, or a sentence that says why an entry was not taken. A mode ends
 * by itself. Nothing is ever deleted: the journal holds every entry.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import type { Entry } from '../../../config/wire/entry.ts';
import type { Mode } from '../../../config/modes.ts';
import type { Note } from '../../../config/wire/wire.ts';
import type { Inspection } from '../diagnosis/causes/inspections.ts';
import { GateOrders } from './gate-orders.ts';

const MOST_NOTES = 50;
/** Judgement: how long a look says something about now. */
const LOOK_LASTS_MS = 1_800_000;
const LONGEST_MODE_MIN = 240;

export class Operations {
  readonly gates: GateOrders;
  readonly #layout: Layout;
  readonly #seenTurningMs = new Map<string, number>();
  #notes: readonly Note[] = [];
  #looks: readonly Inspection[] = [];
  #mode: { readonly name: Mode; readonly untilMs: number; readonly by: string } | null = null;

  constructor(layout: Layout) {
    this.#layout = layout;
    this.gates = new GateOrders(layout);
  }

  /** Newest first. */
  get notes(): readonly Note[] {
    return this.#notes;
  }

  /** Newest last, one a place. */
  get looks(): readonly Inspection[] {
    return this.#looks;
  }

  /** By head, when somebody last saw it turn. */
  get seenTurningMs(): ReadonlyMap<string, number> {
    return this.#seenTurningMs;
  }

  get mode(): { readonly name: Mode; readonly untilMs: number; readonly by: string } | null {
    return this.#mode;
  }

  note(words: string, by: string | null, atMs: number): void {
    this.#notes = [{ atMs, words, by }, ...this.#notes].slice(0, MOST_NOTES);
  }

  /** Goes on from what was noted before. */
  restore(notes: readonly Note[]): void {
    this.#notes = notes;
  }

  /** A later look at the same place takes the place of an earlier one. */
  looked({ at, found, by }: Extract<Entry, { kind: 'looked' }>, atMs: number): string | null {
    const { heads, hoses, gates } = this.#layout;
    const thing = [...heads, ...hoses, ...gates].find(({ id }) => id === at);
    if (!thing) return `There is no head, hose or gate '${at}' here.`;
    this.#looks = [...this.#looks.filter((look) => look.at !== at), { at, found, atMs }];
    this.note(`Looked at ${thing.label}: ${found.replaceAll('-', ' ')}`, by, atMs);
    return null;
  }

  expire(nowMs: number): void {
    this.#looks = this.#looks.filter(({ atMs }) => nowMs - atMs < LOOK_LASTS_MS);
    if (this.#mode && nowMs >= this.#mode.untilMs) {
      this.note(`Mode '${this.#mode.name}' ended by itself`, null, nowMs);
      this.#mode = null;
    }
  }

  setMode(entry: Extract<Entry, { kind: 'mode' }>, atMs: number): string | null {
    if (entry.mode === null) {
      if (this.#mode) this.note(`Mode '${this.#mode.name}' ended`, entry.by, atMs);
      this.#mode = null;
      return null;
    }
    if (!(entry.minutes > 0 && entry.minutes <= LONGEST_MODE_MIN))
      return `A mode needs its minutes, 1 to ${LONGEST_MODE_MIN}: it ends by itself.`;
    this.#mode = { name: entry.mode, untilMs: atMs + entry.minutes * 60_000, by: entry.by };
    this.note(`Mode '${entry.mode}' for ${entry.minutes} min`, entry.by, atMs);
    return null;
  }

  setGate(entry: Extract<Entry, { kind: 'gate' }>, atMs: number): string | null {
    const { taken, words } = this.gates.order(entry, atMs);
    if (!taken) return words;
    this.note(words, entry.by, atMs);
    return null;
  }

  /** `opening`: of every gate; the one ordered, unless told otherwise. */
  shutByOrder(line: string, opening?: Float64Array): boolean {
    return this.gates.shutByOrder(line, opening);
  }

  /** Files who saw which heads turn; returns the labels of heads that nobody has ticked, on lines that are open. */
  sawTurning(heads: readonly string[], atMs: number): string[] {
    for (const head of heads) this.#seenTurningMs.set(head, atMs);
    return this.#layout.heads
      .filter((head) => !heads.includes(head.id) && !this.shutByOrder(head.line))
      .map((head) => head.label);
  }
}
