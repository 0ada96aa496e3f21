/**
 * The core of a run, kept from taking the record and the raw values with it when it throws.
 *
 * In: what the core is to do, with its time. Out: what came of it; null once it has thrown. The call that broke it is
 * kept in the run's record; after that nothing reaches the core any more, because what it then knows is not known.
 */
import type { Entry } from '../../config/wire/entry.ts';
import type { Picture } from '../../config/wire/wire.ts';
import type { Reading } from '../core/telemetry/reading.ts';
import type { Watch } from '../core/watch.ts';
import type { Journal } from '../journal/journal.ts';

export class GuardedCore {
  readonly #watch: Watch;
  readonly #journal: Journal;
  #failed: { readonly sinceMs: number; readonly why: string } | null = null;

  constructor(watch: Watch, journal: Journal) {
    this.#watch = watch;
    this.#journal = journal;
  }

  /** Null: it works. */
  get failed(): { readonly sinceMs: number; readonly why: string } | null {
    return this.#failed;
  }

  take(reading: Reading, nowMs: number): void {
    this.attempt(nowMs, `take ${reading.channel}`, () => this.#watch.take(reading));
  }

  silence(channel: string, nowMs: number): void {
    this.attempt(nowMs, `silence ${channel}`, () => this.#watch.silence(channel));
  }

  enter(entry: Entry, atMs: number): string | null {
    return this.attempt(atMs, `enter ${entry.kind}`, () => this.#watch.enter(entry, atMs));
  }

  advance(nowMs: number): Picture | null {
    return this.attempt(nowMs, 'advance', () => this.#watch.advance(nowMs));
  }

  books(atMs: number): string | null {
    return this.attempt(atMs, 'books', () => this.#watch.books());
  }

  attempt<Result>(nowMs: number, doing: string, act: () => Result): Result | null {
    if (this.#failed) return null;
    try {
      return act();
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      this.#failed = { sinceMs: Math.round(nowMs), why: `${why}. Restart the gateway to try again.` };
      this.#journal.breakage(nowMs, doing, error instanceof Error ? (error.stack ?? why) : why);
      return null;
    }
  }
}
