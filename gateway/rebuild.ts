/**
 * A core that knows what the one before the restart knew: the run's packets and entries are given to a fresh one, as
 * then.
 *
 * In: the run's history, a fresh core. Out: the core, caught up. The caller gives it a little time at each tick, so
 * that the gateway is on the air meanwhile; what comes in goes to the journal and so gets here in its turn. A run of up
 * to two hours is played whole, and the core is then exactly the one it was. Of a longer one: the quarter of an hour
 * that the baseline was taken from, everything that people entered, and the last two hours. Limit: then an alarm that
 * is older than two hours is raised again, to be acknowledged again.
 */
import type { History, PastEvent } from './journal/history.ts';
import type { Layout } from '../config/layout.ts';
import { Playback } from './replay/rerun.ts';
import type { Watch } from './watch.ts';

/** Judgement: some seconds of work on a small computer. */
const PLAYED_MS = 7_200_000;
const BEFORE_BASELINE_MS = 900_000;
/** More at once, and the core would take it for a sleep of the machine. */
const STRIDE_MS = 600_000;

export class Rebuild {
  /** When the gateway was started again. */
  readonly sinceMs: number;
  readonly #watch: Watch;
  readonly #history: History;
  readonly #playback: Playback;
  /** The two parts that are played: around the baseline (none: never), and from here on. */
  readonly #aroundMs: readonly [number, number];
  readonly #recentMs: number;
  readonly #fromMs: number;
  #nowMs: number;

  constructor(
    layout: Layout,
    watch: Watch,
    history: History,
    run: { readonly startedMs: number; readonly endedMs: number; readonly resumedMs: number },
  ) {
    const { startedMs, endedMs } = run;
    this.sinceMs = run.resumedMs;
    this.#watch = watch;
    this.#history = history;
    this.#playback = new Playback(layout, watch, (atMs) => this.#advance(atMs));
    this.#recentMs = Math.max(startedMs, endedMs - PLAYED_MS);
    const baselineMs = history.baselineMs ?? Infinity;
    this.#aroundMs =
      baselineMs < this.#recentMs
        ? [Math.max(startedMs, baselineMs - BEFORE_BASELINE_MS), baselineMs]
        : [Infinity, Infinity];
    this.#fromMs = this.#nowMs = Math.min(this.#recentMs, this.#aroundMs[0]);
    if (this.#fromMs > startedMs) history.skipTo(history.firstFrom(this.#fromMs));
    watch.advance(this.#fromMs);
  }

  /** Plays on until there is nothing more for now (true) or the time is up (false). */
  work(timeIsUp: () => boolean): boolean {
    for (let event = this.#history.next(); event; event = this.#history.next()) {
      this.#play(event);
      if (timeIsUp()) return false;
    }
    return true;
  }

  /** How far it has come towards `nowMs`, from 0 to 1. */
  share(nowMs: number): number {
    return nowMs > this.#fromMs ? Math.min(1, (this.#nowMs - this.#fromMs) / (nowMs - this.#fromMs)) : 1;
  }

  close(): void {
    this.#history.close();
  }

  #play(event: PastEvent): void {
    const atMs = event.kind === 'packet' ? event.receivedMs : event.atMs;
    if (this.#nowMs < this.#recentMs && atMs > this.#aroundMs[1]) this.#leapTo(atMs);
    if (atMs >= this.#recentMs || (atMs >= this.#aroundMs[0] && atMs <= this.#aroundMs[1])) {
      this.#playback.play(event);
      this.#nowMs = Math.max(this.#nowMs, atMs);
    } else if (event.kind === 'entry') this.#playback.enter(event);
  }

  /** Over the stretch between the two parts. */
  #leapTo(atMs: number): void {
    if (atMs < this.#recentMs) this.#history.skipTo(this.#history.firstFrom(this.#recentMs));
    else {
      this.#watch.advance(this.#recentMs, true);
      this.#nowMs = this.#recentMs;
    }
  }

  #advance(toMs: number): void {
    for (; toMs - this.#nowMs > STRIDE_MS; this.#nowMs += STRIDE_MS) this.#watch.advance(this.#nowMs + STRIDE_MS);
    this.#watch.advance(toMs);
    this.#nowMs = Math.max(this.#nowMs, toMs);
  }
}
