/**
 * What people told the gateway, as it stands now: gates set by order, the mode with its expiry, notes, and when each
 * head was last seen turning.
 *
 * In: entries with their time. Out: the present state, or a sentence that says why an entry was not taken. A mode ends
 * by itself. Nothing is ever deleted: the journal holds every entry.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import type { Entry, Mode, Note, Sight } from '../../../config/wire/wire.ts';

/** What somebody found at one place. */
export interface Look {
  readonly at: string;
  readonly found: Sight;
  readonly atMs: number;
}

const MOST_NOTES = 50;
/** Judgement: how long a look says something about now. */
const LOOK_LASTS_MS = 1_800_000;
const LONGEST_MODE_MIN = 240;

export class Operations {
  readonly gateOpening: Float64Array;
  readonly seenTurningMs = new Map<string, number>();
  readonly notes: Note[] = [];
  /** Newest last. */
  looks: readonly Look[] = [];
  mode: { readonly name: Mode; readonly untilMs: number; readonly by: string } | null = null;
  readonly #layout: Layout;

  constructor(layout: Layout) {
    this.#layout = layout;
    this.gateOpening = Float64Array.from(layout.gates, (gate) => gate.opening);
  }

  note(words: string, by: string | null, atMs: number): void {
    this.notes.unshift({ atMs, words, by });
    if (this.notes.length > MOST_NOTES) this.notes.pop();
  }

  /** A later look at the same place takes the place of an earlier one. */
  looked({ at, found, by }: Extract<Entry, { kind: 'looked' }>, atMs: number): string | null {
    const { heads, hoses, gates } = this.#layout;
    const thing = [...heads, ...hoses, ...gates].find(({ id }) => id === at);
    if (!thing) return `There is no head, hose or gate '${at}' here.`;
    this.looks = [...this.looks.filter((look) => look.at !== at), { at, found, atMs }];
    this.note(`Looked at ${thing.label}: ${found.replaceAll('-', ' ')}`, by, atMs);
    return null;
  }

  expire(nowMs: number): void {
    this.looks = this.looks.filter(({ atMs }) => nowMs - atMs < LOOK_LASTS_MS);
    if (this.mode && nowMs >= this.mode.untilMs) {
      this.note(`Mode '${this.mode.name}' ended by itself`, null, nowMs);
      this.mode = null;
    }
  }

  setMode(entry: Extract<Entry, { kind: 'mode' }>, atMs: number): string | null {
    if (entry.mode === null) {
      if (this.mode) this.note(`Mode '${this.mode.name}' ended`, entry.by, atMs);
      this.mode = null;
      return null;
    }
    if (!(entry.minutes > 0 && entry.minutes <= LONGEST_MODE_MIN))
      return `A mode needs its minutes, 1 to ${LONGEST_MODE_MIN}: it ends by itself.`;
    this.mode = { name: entry.mode, untilMs: atMs + entry.minutes * 60_000, by: entry.by };
    this.note(`Mode '${entry.mode}' for ${entry.minutes} min`, entry.by, atMs);
    return null;
  }

  setGate(entry: Extract<Entry, { kind: 'gate' }>, atMs: number): string | null {
    const index = this.#layout.gates.findIndex((gate) => gate.id === entry.gate);
    if (index < 0)
      return `There is no gate '${entry.gate}'. Gates here: ${this.#layout.gates.map((gate) => gate.id).join(', ')}.`;
    if (!(entry.opening >= 0 && entry.opening <= 1)) return 'Opening goes from 0 (shut) to 1 (open).';
    this.gateOpening[index] = entry.opening;
    this.note(
      `${this.#layout.gates[index]!.label} ${entry.opening === 0 ? 'shut' : `set to ${Math.round(entry.opening * 100)} %`} by order`,
      entry.by,
      atMs,
    );
    return null;
  }

  /** Files who saw which heads turn; returns the labels of heads that nobody has ticked, on lines that are open. */
  sawTurning(heads: readonly string[], atMs: number): string[] {
    for (const head of heads) this.seenTurningMs.set(head, atMs);
    return this.#layout.heads
      .filter((head) => !heads.includes(head.id) && !this.shutByOrder(head.line))
      .map((head) => head.label);
  }

  /** `opening`: of every gate; the one ordered, unless told otherwise. */
  shutByOrder(line: string, opening: Float64Array = this.gateOpening): boolean {
    const gates = this.#layout.gates.map((gate, index) => ({ gate, index })).filter(({ gate }) => gate.line === line);
    return gates.length > 0 && gates.every(({ index }) => opening[index] === 0);
  }
}
