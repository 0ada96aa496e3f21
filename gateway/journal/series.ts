/**
 * One channel over a window of time, thinned to what a chart can show.
 *
 * In: channel, window, agreed interval. Out: at most some 1500 rows of mean measured value and the model's expectation with
 * its band, in SI. A gap longer than three intervals has rows without a measured value, so that no line is drawn across it;
 * an expectation older than its neighbours' interval is not carried over. Rows are means over equal slices of the window.
 */
import type Database from 'better-sqlite3';
import type { Series } from '../../config/wire.ts';

const SLICES_MAX = 700;
const GAP_INTERVALS = 3;

/** Slices this long are put together from minutes instead of single readings. */
const MINUTES_FROM_MS = 120_000;

const FROM_ROWS = {
  measured: `select cast((at_ms - @from) / @slice as integer) as slice, avg(at_ms) as atMs, avg(value) as value
    from reading where channel = @channel and at_ms >= @from and at_ms <= @to group by 1 order by 1`,
  bands: `select cast((at_ms - @from) / @slice as integer) as slice, avg(expected) as expected, avg(low) as low, avg(high) as high
    from expectation where channel = @channel and at_ms >= @from and at_ms <= @to group by 1 order by 1`,
};
const MINUTE = 'minute * 60000 + 30000';
const IN_WINDOW = `channel = @channel and minute >= (@from - 30000) / 60000.0 and minute <= (@to - 30000) / 60000.0`;
const FROM_MINUTES = {
  measured: `select cast((${MINUTE} - @from) / @slice as integer) as slice, avg(${MINUTE}) as atMs, sum(total) / sum(rows) as value
    from reading_minute where ${IN_WINDOW} group by 1 order by 1`,
  bands: `select cast((${MINUTE} - @from) / @slice as integer) as slice,
      sum(expected) / sum(rows) as expected, sum(low) / sum(rows) as low, sum(high) / sum(rows) as high
    from expectation_minute where ${IN_WINDOW} group by 1 order by 1`,
};

interface Slice {
  readonly slice: number;
  readonly atMs: number;
  readonly value: number;
}

interface Band {
  readonly slice: number;
  readonly expected: number;
  readonly low: number | null;
  readonly high: number | null;
}

export interface ChartChannel {
  readonly channel: string;
  readonly number: number;
  readonly intervalMs: number;
}

export function readSeries(database: Database.Database, channel: ChartChannel, fromMs: number, toMs: number): Series {
  const sliceMs = Math.max(channel.intervalMs, Math.ceil((toMs - fromMs) / SLICES_MAX), 1);
  const window = { channel: channel.number, from: fromMs, to: toMs, slice: sliceMs };
  const queries = sliceMs < MINUTES_FROM_MS ? FROM_ROWS : FROM_MINUTES;
  const measured = database.prepare<typeof window, Slice>(queries.measured).all(window);
  const bands = database.prepare<typeof window, Band>(queries.bands).all(window);
  return join(channel, measured, bands, fromMs, sliceMs);
}

function join(channel: ChartChannel, measured: readonly Slice[], bands: readonly Band[], fromMs: number, sliceMs: number): Series {
  const series = { channel: channel.channel, atMs: [] as number[], measured: [] as (number | null)[], expected: [] as (number | null)[], low: [] as (number | null)[], high: [] as (number | null)[] };
  const push = (atMs: number, value: number | null, band: Band | undefined): void => {
    series.atMs.push(Math.round(atMs));
    series.measured.push(value);
    series.expected.push(band?.expected ?? null);
    series.low.push(band?.low ?? null);
    series.high.push(band?.high ?? null);
  };
  const bandOf = new Map(bands.map((band) => [band.slice, band]));
  const gapMs = Math.max(GAP_INTERVALS * channel.intervalMs, 2 * sliceMs);
  const middle = (slice: number): number => fromMs + (slice + 0.5) * sliceMs;
  let next = 0;
  /** Bands of slices where nothing was measured: shown in a gap, skipped in the ordinary jitter between two readings. */
  const pass = (untilSlice: number, inGap: boolean): void => {
    for (; next < bands.length && bands[next]!.slice < untilSlice; next += 1) if (inGap) push(middle(bands[next]!.slice), null, bands[next]);
  };
  let beforeMs: number | null = null;
  for (const { slice, atMs, value } of measured) {
    const gap: boolean = beforeMs === null || atMs - beforeMs > gapMs;
    const rows = series.atMs.length;
    pass(slice, gap);
    if (gap && beforeMs !== null && series.atMs.length === rows) push((beforeMs + atMs) / 2, null, undefined);
    while (next < bands.length && bands[next]!.slice <= slice) next += 1;
    push(atMs, value, bandOf.get(slice) ?? bandOf.get(slice - 1));
    beforeMs = atMs;
  }
  pass(Infinity, true);
  return series;
}
