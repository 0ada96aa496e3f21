/**
 * One channel over time in plain arrays, as uPlot takes them.
 *
 * In: a series from the gateway, then live pictures one by one. A row without a new reading of a channel that is still
 * fresh holds `undefined` (the line goes on); a stale reading, or a hole in the pictures, holds `null` (a gap: never
 * joined). Times in ms on the run's clock, values SI.
 */
import type { Series } from '../../config/wire/live.ts';
import type { ChannelPicture } from '../../config/wire/wire.ts';

type Cell = number | null | undefined;

/** Judgement: between the past as told and the first live row, more than this on the run's clock is a hole. */
const SEAM_MS = 15_000;

export class Track {
  atMs: number[] = [];
  measured: Cell[] = [];
  expected: Cell[] = [];
  low: Cell[] = [];
  high: Cell[] = [];
  #lastReadingMs = -Infinity;

  /** The past replaces everything up to its last row; what came live after that stays. */
  load(series: Series): void {
    const later = new Track();
    const lastMs = series.atMs.at(-1) ?? -Infinity;
    this.atMs.forEach((atMs, row) => {
      if (atMs > lastMs) later.#push(atMs, this.measured[row], this.expected[row], this.low[row], this.high[row]);
    });
    this.clear();
    series.atMs.forEach((atMs, row) =>
      this.#push(
        atMs,
        series.measured[row] ?? null,
        series.expected[row] ?? null,
        series.low[row] ?? null,
        series.high[row] ?? null,
      ),
    );
    if (lastMs > -Infinity && (later.atMs[0] ?? lastMs) - lastMs > SEAM_MS) this.#gap(lastMs + 1);
    later.atMs.forEach((atMs, row) =>
      this.#push(atMs, later.measured[row], later.expected[row], later.low[row], later.high[row]),
    );
  }

  /** `afterHole`: the screen heard nothing for a while before this picture. */
  take(channel: ChannelPicture, pictureMs: number, afterHole: boolean): void {
    const lastMs = this.atMs.at(-1);
    if (lastMs !== undefined && pictureMs <= lastMs) return;
    if (lastMs !== undefined && afterHole) this.#gap(lastMs + 1);
    const trusted = channel.freshness === 'fresh' || channel.freshness === 'late';
    const isNew = channel.atMs !== null && channel.atMs > this.#lastReadingMs;
    if (isNew) this.#lastReadingMs = channel.atMs;
    this.#push(
      pictureMs,
      !trusted ? null : isNew ? channel.value : undefined,
      channel.expected,
      channel.low,
      channel.high,
    );
  }

  /** The row nearest to a moment, if one lies within `reachMs`; a gap has a row without a measured value. */
  rowAt(
    atMs: number,
    reachMs: number,
  ): {
    readonly measured: number | null;
    readonly expected: number | null;
    readonly low: number | null;
    readonly high: number | null;
  } | null {
    let best = -1;
    this.atMs.forEach((rowMs, row) => {
      if (best < 0 || Math.abs(rowMs - atMs) < Math.abs(this.atMs[best]! - atMs)) best = row;
    });
    if (best < 0 || Math.abs(this.atMs[best]! - atMs) > reachMs) return null;
    let filled = best;
    while (filled > 0 && this.measured[filled] === undefined) filled -= 1;
    return {
      measured: this.measured[filled] ?? null,
      expected: this.expected[best] ?? null,
      low: this.low[best] ?? null,
      high: this.high[best] ?? null,
    };
  }

  /** Drops rows before `fromMs`. */
  trim(fromMs: number): void {
    const rows = this.atMs.findIndex((atMs) => atMs >= fromMs);
    if (rows <= 0) return;
    for (const column of [this.atMs, this.measured, this.expected, this.low, this.high]) column.splice(0, rows);
  }

  clear(): void {
    for (const column of [this.atMs, this.measured, this.expected, this.low, this.high]) column.length = 0;
  }

  #gap(atMs: number): void {
    this.#push(atMs, null, null, null, null);
  }

  #push(atMs: number, measured: Cell, expected: Cell, low: Cell, high: Cell): void {
    if (atMs <= (this.atMs.at(-1) ?? -Infinity)) return;
    this.atMs.push(atMs);
    this.measured.push(measured);
    this.expected.push(expected);
    this.low.push(low);
    this.high.push(high);
  }
}
