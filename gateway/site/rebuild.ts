/**
 * Catches a fresh core up after a restart, from the run's own record.
 *
 * In: the run's history, a fresh core, a little time at each tick, so that the gateway is on the air meanwhile. Out:
 * the core, caught up. A run of up to two hours is played whole. Of a longer one: all entries, the quarter of an hour
 * before each of the last baselines, the minutes in which what stands began, and the last two hours. What was counted
 * (water, alarm load, alarms, notes, shocks) comes from the last whole picture. Limit: a record of an older version
 * holds no counts; then they begin anew, with a note that says so.
 */
import type { History, PastEvent } from '../journal/history.ts';
import type { Layout } from '../../config/layout/layout.ts';
import { Playback } from '../replay/rerun.ts';
import type { Watch } from '../core/watch.ts';

/** Judgement: some seconds of work on a small computer. */
const PLAYED_MS = 7_200_000;
const BEFORE_BASELINE_MS = 900_000;
/** Judgement: as many throttle settings as anybody walks a lay at. */
const BASELINES = 4;
/** More at once, and the core would take it for a sleep of the machine. */
const STRIDE_MS = 600_000;

/** What stands is known by how it began: what was right before, and a minute in which it is named. Judgement. */
const STANDING = 6;
const BEFORE_ONSET_MS = 600_000;
const AFTER_ONSET_MS = 60_000;

/** From and to, ms. */
type Part = readonly [number, number];

export class Rebuild {
  /** When the gateway was started again. */
  readonly sinceMs: number;
  readonly #watch: Watch;
  readonly #history: History;
  readonly #playback: Playback;
  /** What is played, in order; the last part is open. */
  readonly #parts: readonly Part[];
  readonly #fromMs: number;
  #books: History['books'];
  #part = 0;
  /** Time has come to the part that is played. */
  #arrived = true;
  #nowMs: number;

  constructor(
    layout: Layout,
    watch: Watch,
    history: History,
    run: { readonly startedMs: number; readonly endedMs: number; readonly resumedMs: number },
    playedMs: number = PLAYED_MS,
  ) {
    const { startedMs, endedMs } = run;
    this.sinceMs = run.resumedMs;
    this.#watch = watch;
    this.#history = history;
    this.#playback = new Playback(layout, watch, (atMs) => this.#advance(atMs));
    const recentMs = Math.max(startedMs, endedMs - playedMs);
    const baselines = history
      .taken('baseline')
      .slice(-BASELINES)
      .map(({ atMs }): Part => [Math.max(startedMs, atMs - BEFORE_BASELINE_MS), atMs]);
    const onsets = history
      .standing(STANDING)
      .map(({ verdict, raisedMs }): Part => [
        Math.max(startedMs, verdict.sinceMs - BEFORE_ONSET_MS),
        raisedMs + AFTER_ONSET_MS,
      ]);
    const earlier = [...baselines, ...onsets].filter(([fromMs]) => fromMs < recentMs);
    this.#parts = joined([...earlier, [recentMs, Infinity]]);
    this.#books = history.books;
    this.#fromMs = this.#nowMs = this.#parts[0]![0];
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
    while (atMs > this.#parts[this.#part]![1]) {
      this.#part += 1;
      this.#arrived = false;
      this.#history.skipTo(this.#history.firstFrom(this.#parts[this.#part]![0]));
    }
    if (atMs >= this.#parts[this.#part]![0]) {
      if (!this.#arrived) this.#leapTo(this.#parts[this.#part]![0]);
      this.#playback.play(event);
      this.#nowMs = Math.max(this.#nowMs, atMs);
    } else if (event.kind === 'entry') this.#playback.enter(event);
  }

  /** Over a stretch that is not played. */
  #leapTo(fromMs: number): void {
    // Of a channel that has been silent since, when it was last heard.
    for (const reading of this.#history.newestReadings(fromMs)) this.#watch.take(reading);
    this.#watch.advance(fromMs, true);
    this.#arrived = true;
    this.#nowMs = fromMs;
    const isLast = this.#part === this.#parts.length - 1;
    if (!isLast || (this.#books && this.#books.atMs > fromMs)) return;
    this.#books = null;
    this.#watch.restore(null, fromMs);
  }

  #advance(toMs: number): void {
    if (this.#books && this.#books.atMs <= toMs) {
      const { atMs, body } = this.#books;
      this.#books = null;
      this.#stride(atMs);
      this.#watch.restore(body, atMs);
    }
    this.#stride(toMs);
  }

  #stride(toMs: number): void {
    for (; toMs - this.#nowMs > STRIDE_MS; this.#nowMs += STRIDE_MS) this.#watch.advance(this.#nowMs + STRIDE_MS);
    this.#watch.advance(toMs);
    this.#nowMs = Math.max(this.#nowMs, toMs);
  }
}

/** In order; what overlaps or touches is one. */
function joined(parts: readonly Part[]): Part[] {
  const out: Part[] = [];
  for (const [fromMs, toMs] of [...parts].sort(([one], [other]) => one - other)) {
    const last = out.at(-1);
    if (last && fromMs <= last[1]) out[out.length - 1] = [last[0], Math.max(last[1], toMs)];
    else out.push([fromMs, toMs]);
  }
  return out;
}
