/**
 * What waits for the next commit: rows, the senders to be acknowledged after it, and the pause before a failing disk is
 * tried again.
 *
 * In: rows and senders, as they come. Out: the rows to be written; after that the acknowledgements, never before.
 * Limits: rows and senders are bounded; a row that finds no room is counted, a sender that finds none must send again.
 */
import type { Row } from './run-writer.ts';

/** Judgement: two hours of a site of ten gauges. */
export const WAITING_MAX = 200_000;
const PAUSE_MAX_FLUSHES = 120;

export class WaitingRows {
  #rows: Row[] = [];
  /** Only the newest is of use. */
  #books: Row | null = null;
  #lost = 0;

  /** Books not counted: nobody waits for them. */
  get empty(): boolean {
    return this.#rows.length === 0;
  }

  get all(): readonly Row[] {
    return this.#books ? [...this.#rows, this.#books] : this.#rows;
  }

  /** How many found no room. */
  get lost(): number {
    return this.#lost;
  }

  add(kind: Row['kind'], ...cells: Row['cells']): void {
    this.#rows.push({ kind, cells });
  }

  books(atMs: number, body: string): void {
    this.#books = { kind: 'books', cells: [atMs, body] };
  }

  /** False: no room for what is counted as lost now. */
  hasRoom(most = WAITING_MAX): boolean {
    if (this.#rows.length < most) return true;
    this.#lost += 1;
    return false;
  }

  /** All of them are on disk. */
  written(): void {
    this.#rows = [];
    this.#books = null;
  }
}

export class WaitingSenders {
  #unacknowledged: (() => void)[] = [];
  #owes = false;

  /** A sender has not been acknowledged and will not be: it must send again, once the disk writes. */
  get owes(): boolean {
    return this.#owes;
  }

  requireResend(): void {
    this.#owes = true;
  }

  resendRequested(): void {
    this.#owes = false;
  }

  get count(): number {
    return this.#unacknowledged.length;
  }

  add(acknowledge: () => void): void {
    if (this.#unacknowledged.length < WAITING_MAX) this.#unacknowledged.push(acknowledge);
    else this.#owes = true;
  }

  /** Only to be called when nothing they sent waits any more. */
  acknowledge(): void {
    const acknowledged = this.#unacknowledged;
    this.#unacknowledged = [];
    for (const acknowledge of acknowledged) acknowledge();
  }
}

/** A disk that fails is tried again after a pause that grows, counted in flushes. */
export class FailingDisk {
  #why: string | null = null;
  #pause = 0;
  #left = 0;

  /** Null: the last try worked. */
  get why(): string | null {
    return this.#why;
  }

  /** Whether this flush is to try. */
  due(): boolean {
    if (this.#why === null || this.#left === 0) return true;
    this.#left -= 1;
    return false;
  }

  worked(): void {
    this.#why = null;
    this.#pause = 0;
  }

  failed(error: unknown): void {
    this.#why = error instanceof Error ? error.message : String(error);
    this.#pause = Math.min(PAUSE_MAX_FLUSHES, 2 * this.#pause + 1);
    this.#left = this.#pause;
  }
}
