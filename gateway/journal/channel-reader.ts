/**
 * What a run's file holds of its channels: readings, bursts, gaps and means.
 *
 * In: the file of a run, open; a channel's id. Out: rows, in pages where there may be many. Times are milliseconds on
 * the run's clock; values are SI. A channel that the run did not have has no rows.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Series } from '../../config/wire/live.ts';
import { GAP_MS } from '../core/telemetry/bursts.ts';
import type { Reading } from '../core/telemetry/reading.ts';
import type { ReadOnlyFile } from './read-only-file.ts';
import { readSeries } from './series.ts';

export interface StoredReading {
  readonly atMs: number;
  readonly value: number;
  readonly receivedMs: number;
  /** What the device's clock said; null: nothing absolute. */
  readonly deviceMs: number | null;
  readonly inRange: boolean;
  readonly live: boolean;
}

const STORED = 'at_ms, value, received_ms, device_ms, in_range, live';

interface StoredRow {
  readonly at_ms: number;
  readonly value: number;
  readonly received_ms: number;
  readonly device_ms: number | null;
  readonly in_range: number;
  readonly live: number;
}

function storedOf(row: StoredRow): StoredReading {
  return {
    atMs: row.at_ms,
    value: row.value,
    receivedMs: row.received_ms,
    deviceMs: row.device_ms,
    inRange: row.in_range === 1,
    live: row.live === 1,
  };
}

const PAGE = 2_000;
/** A device's clock may be this far ahead of receipt and still be believed, times a simulation's speed. */
const AHEAD_MS = 600_000;
/** Judgement: what goes on for longer is no burst any more, and is told in part. */
const LONGEST_BURST_MS = 30_000;

export class ChannelReader {
  readonly #file: ReadOnlyFile;
  readonly #numbers: ReadonlyMap<string, number>;

  /** `numbers`: what the file calls each channel. */
  constructor(file: ReadOnlyFile, numbers: ReadonlyMap<string, number>) {
    this.#file = file;
    this.#numbers = numbers;
  }

  /**
   * The newest live readings of a channel that had been received before a moment, oldest first; in hindsight, all that
   * had been measured.
   */
  readingsBefore(channel: string, atMs: number, count: number, hindsight = false): StoredReading[] {
    const number = this.#numbers.get(channel);
    if (number === undefined) return [];
    const known = hindsight ? 'at_ms < ? and at_ms < ?' : 'at_ms <= ? and received_ms < ? and live = 1';
    const rows = this.#file.all<StoredRow>(
      `select ${STORED} from reading where channel = ? and ${known} order by at_ms desc limit ${count}`,
      number,
      hindsight ? atMs : atMs + AHEAD_MS,
      atMs,
    );
    return rows.reverse().map(storedOf);
  }

  /**
   * The newest bursts of a fast channel that lie within a window or reach into it, newest first, each with its samples
   * in order of time.
   */
  bursts(channel: string, fromMs: number, toMs: number, count: number): StoredReading[][] {
    const number = this.#numbers.get(channel) ?? -1;
    const bursts: StoredReading[][] = [];
    let beforeMs = toMs + LONGEST_BURST_MS;
    // A burst that reaches over the window's ends is told whole.
    const rows = this.#file
      .prepare<StoredRow>(
        `select ${STORED} from reading where channel = ? and at_ms between ? and ? order by at_ms desc`,
      )
      .iterate(number, fromMs - LONGEST_BURST_MS, beforeMs);
    for (const row of rows) {
      if (bursts.length === 0 || beforeMs - row.at_ms > GAP_MS) {
        if (row.at_ms < fromMs) break;
        if (bursts.length > count) break;
        bursts.push([]);
      }
      beforeMs = row.at_ms;
      bursts.at(-1)!.push(storedOf(row));
    }
    return bursts
      .map((burst) => burst.reverse())
      .filter(([first]) => first!.atMs <= toMs)
      .slice(0, count);
  }

  /** How completely a channel was heard; a gap is a silence of more than three intervals. */
  quality(
    channel: string,
    intervalMs: number,
  ): {
    readonly readings: number;
    readonly gaps: number;
    readonly gapMs: number;
    readonly longestGapMs: number;
    readonly outOfRange: number;
    readonly late: number;
    readonly firstMs: number | null;
    readonly lastMs: number | null;
  } {
    return this.#file.one(
      `select count(*) as readings, coalesce(sum(step > @gap), 0) as gaps,
      coalesce(sum(case when step > @gap then step end), 0) as gapMs,
      coalesce(max(case when step > @gap then step end), 0) as longestGapMs,
      coalesce(sum(not in_range), 0) as outOfRange, coalesce(sum(not live), 0) as late,
      min(at_ms) as firstMs, max(at_ms) as lastMs
      from (select at_ms, in_range, live, at_ms - lag(at_ms) over (order by at_ms) as step
        from reading where channel = @channel)`,
      { channel: this.#numbers.get(channel) ?? -1, gap: 3 * intervalMs },
    )!;
  }

  /** Minute means of a channel, in order. */
  minuteMeans(channel: string): number[] {
    return this.#file
      .all<{ mean: number }>(
        'select total / rows as mean from reading_minute where channel = ? order by minute',
        this.#numbers.get(channel) ?? -1,
      )
      .map(({ mean }) => mean);
  }

  /** Readings in pages, rising in time within a channel. */
  *readings(channel: string): Generator<StoredReading> {
    const number = this.#numbers.get(channel) ?? -1;
    let afterMs = -Infinity;
    for (;;) {
      const rows = this.#file.all<StoredRow>(
        `select ${STORED} from reading where channel = ? and at_ms >= ? order by at_ms, value limit ${PAGE}`,
        number,
        Number.isFinite(afterMs) ? afterMs : -8.64e15,
      );
      const more = rows.length === PAGE;
      // Rows of the page's last millisecond come again with the next page.
      const lastMs = rows.at(-1)?.at_ms ?? 0;
      const kept = more && rows[0]!.at_ms !== lastMs ? rows.filter((row) => row.at_ms !== lastMs) : rows;
      for (const row of kept) yield storedOf(row);
      if (!more) return;
      afterMs = kept === rows ? lastMs + 1 : lastMs;
    }
  }

  /** Readings that came too late to be shown, by their own time. */
  lateReadings(): Reading[] {
    return this.#file
      .all<{
        id: string;
        at_ms: number;
        value: number;
        received_ms: number;
        device_ms: number | null;
        in_range: number;
      }>(
        'select channel.id, at_ms, value, received_ms, device_ms, in_range from reading join channel on ' +
          'channel.number = reading.channel where live = 0 order by at_ms',
      )
      .map((row) => ({
        channel: row.id,
        value: row.value,
        atMs: row.at_ms,
        receivedMs: row.received_ms,
        deviceMs: row.device_ms,
        grade: row.in_range === 1 ? 'good' : 'out-of-range',
      }));
  }

  /** For a chart; null: the site has no such channel. */
  series(layout: Layout, channel: string, fromMs: number, toMs: number): Series | null {
    const number = this.#numbers.get(channel);
    const sensor = layout.sensors.find(({ id }) => id === channel);
    return number === undefined || !sensor
      ? null
      : readSeries(this.#file.database, { channel, number, intervalMs: sensor.intervalS * 1_000 }, fromMs, toMs);
  }
}
