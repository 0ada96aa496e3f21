/**
 * How much of what a device should have sent did not come: the share of readings missing in the last ten minutes.
 *
 * In: its readings by channel, with the interval that was agreed. Out: 0 to 1 for the channel that speaks most often;
 * null in the first minute. What comes late fills its hole, and what comes twice counts once. Limit: a device that
 * sends only what changes looks lossy.
 */
const MINUTE_MS = 60_000;
const WINDOW_MINUTES = 10;
/** Judgement: less says nothing of a share. */
const LEAST_MS = MINUTE_MS;
/** Bounds what a device that floods can fill. */
const TIMES_MOST = 6_000;
/** Small whole numbers are found in a set several times as fast as times since 1970. */
const STEPS_A_MS = 8;

interface Heard {
  readonly intervalMs: number;
  readonly firstMs: number;
  /** Readings by minute of receipt. */
  readonly minutes: Map<number, number>;
  /**
   * Times of measurement after the first receipt, in steps, in two generations, the older dropped whole: a reading that
   * comes twice is one.
   */
  times: Set<number>;
  earlier: Set<number>;
}

export class DeviceLoss {
  readonly #channels = new Map<string, Heard>();

  hear(channel: string, intervalMs: number, atMs: number, receivedMs: number): void {
    let heard = this.#channels.get(channel);
    if (!heard) {
      heard = { intervalMs, firstMs: receivedMs, minutes: new Map(), times: new Set(), earlier: new Set() };
      this.#channels.set(channel, heard);
    }
    const at = Math.round((atMs - heard.firstMs) * STEPS_A_MS);
    if (heard.times.has(at) || heard.earlier.has(at)) return;
    if (heard.times.size >= TIMES_MOST) {
      heard.earlier = heard.times;
      heard.times = new Set();
    }
    heard.times.add(at);
    const minute = Math.floor(receivedMs / MINUTE_MS);
    const count = heard.minutes.get(minute);
    heard.minutes.set(minute, (count ?? 0) + 1);
    if (count === undefined)
      for (const old of heard.minutes.keys()) if (old <= minute - WINDOW_MINUTES) heard.minutes.delete(old);
  }

  share(nowMs: number): number | null {
    const [heard] = [...this.#channels.values()].sort((one, other) => one.intervalMs - other.intervalMs);
    if (!heard || nowMs - heard.firstMs < LEAST_MS) return null;
    const first = Math.floor(nowMs / MINUTE_MS) - WINDOW_MINUTES + 1;
    const due = (nowMs - Math.max(heard.firstMs, first * MINUTE_MS)) / heard.intervalMs;
    const came = [...heard.minutes].reduce((sum, [minute, count]) => (minute >= first ? sum + count : sum), 0);
    // One may be on its way.
    return due < 2 ? null : Math.min(1, Math.max(0, 1 - (came + 1) / due));
  }
}
