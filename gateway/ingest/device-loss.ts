/**
 * How much of what a device should have sent did not come: the share of readings missing in the last ten minutes.
 *
 * In: its readings by channel, with the interval that was agreed. Out: 0 to 1 for the channel that speaks most often; null in the first
 * minute. What comes late fills its hole, and what comes twice counts once. Limit: a device that sends only what changes looks lossy.
 */
const WINDOW_MS = 600_000;
/** Judgement: less says nothing of a share. */
const LEAST_MS = 60_000;
/** Bounds what a device that floods can fill: ten readings a second are remembered for the whole window. */
const READINGS_MOST = 6_000;

interface Heard {
  readonly intervalMs: number;
  readonly firstMs: number;
  /** Time of receipt by time of measurement. */
  readonly readings: Map<number, number>;
}

export class DeviceLoss {
  readonly #channels = new Map<string, Heard>();

  hear(channel: string, intervalMs: number, atMs: number, receivedMs: number): void {
    let heard = this.#channels.get(channel);
    if (!heard) {
      heard = { intervalMs, firstMs: receivedMs, readings: new Map() };
      this.#channels.set(channel, heard);
    }
    if (!heard.readings.has(atMs)) heard.readings.set(atMs, receivedMs);
    // Oldest first, because a map keeps the order of arrival.
    for (const [at, received] of heard.readings) {
      if (receivedMs - received <= WINDOW_MS && heard.readings.size <= READINGS_MOST) break;
      heard.readings.delete(at);
    }
  }

  share(nowMs: number): number | null {
    const [heard] = [...this.#channels.values()].sort((one, other) => one.intervalMs - other.intervalMs);
    if (!heard || nowMs - heard.firstMs < LEAST_MS) return null;
    const fromMs = Math.max(heard.firstMs, nowMs - WINDOW_MS);
    const due = (nowMs - fromMs) / heard.intervalMs;
    const came = [...heard.readings.values()].filter((received) => received > fromMs).length;
    // One may be on its way.
    return due < 2 ? null : Math.min(1, Math.max(0, 1 - (came + 1) / due));
  }
}
