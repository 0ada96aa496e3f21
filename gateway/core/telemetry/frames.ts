/**
 * The seconds of a run: which frames are due, and when the gateway listens.
 *
 * In: time as it moves on, and whether nobody watched meanwhile. Out: one frame a whole second, in order; since when
 * the gateway has listened and when it was last away. Limit: after a long sleep the seconds between are not made up,
 * because nothing was seen in them.
 */
const FRAME_MS = 1_000;
const LONGEST_CATCH_UP_MS = 900_000;

/** When the gateway listens: since it was started, but for the last time that it was away. */
export interface Listening {
  readonly startedMs: number;
  readonly awayFromMs: number;
  readonly awayToMs: number;
}

export class Frames {
  /** Time of the newest frame; null: none yet. */
  #frameMs: number | null = null;
  #listening: Listening = { startedMs: 0, awayFromMs: 0, awayToMs: 0 };

  get listening(): Listening {
    return this.#listening;
  }

  /** The first time: from now on it listens. Returns whether it was. */
  begin(nowMs: number): boolean {
    if (this.#frameMs !== null) return false;
    const startedMs = wholeSecond(nowMs);
    this.#listening = { startedMs, awayFromMs: startedMs, awayToMs: startedMs };
    this.#frameMs = startedMs - FRAME_MS;
    return true;
  }

  /** Frames that are due by `nowMs`, oldest first. `wasAway`: nobody watched since the last one. */
  *due(nowMs: number, wasAway: boolean): Generator<number> {
    if (this.#frameMs === null) return;
    const lastMs = wholeSecond(nowMs);
    if (wasAway) this.#listening = { ...this.#listening, awayFromMs: this.#frameMs, awayToMs: lastMs };
    if (wasAway || lastMs - this.#frameMs > LONGEST_CATCH_UP_MS)
      this.#frameMs = Math.max(this.#frameMs, lastMs - FRAME_MS);
    while (this.#frameMs + FRAME_MS <= lastMs) {
      this.#frameMs += FRAME_MS;
      yield this.#frameMs;
    }
  }
}

function wholeSecond(atMs: number): number {
  return Math.floor(atMs / FRAME_MS) * FRAME_MS;
}
