/**
 * One channel over a window of time, thinned to what a chart can show.
 *
 * In: channel, window, agreed interval. Out: at most some 1500 rows of measured values and the model's expectation with
 * its band, in SI. Of each slice of the window the lowest and the highest reading are drawn, each at its time, so that
 * no spike is averaged away. A gap longer than three intervals has rows without a measured value, so that no line is
 * drawn across it; an expectation older than its neighbours' interval is not carried over. Expectations are means of
 * their slice.
 */
import type Database from 'better-sqlite3';
import type { Series } from '../../config/wire/live.ts';

const SLICES_MAX = 500;
const GAP_INTERVALS = 3;

/** Slices this long are put together from minutes instead of single readings. */
const MINUTES_FROM_MS = 60_000;
const MINUTE_QUARTER_MS = 15_000;

/** Beside a single min or max, SQLite takes other columns from the row that has it. */
const readings = (
  extreme: 'min' | 'max',
): string => `select cast((at_ms - @from) / @slice as integer) as slice, at_ms as atMs, ${extreme}(value) as value
    from reading where channel = @channel and at_ms >= @from and at_ms <= @to group by 1 order by 1`;
const MINUTE = 'minute * 60000 + 30000';
const IN_WINDOW = `channel = @channel and minute >= (@from - 30000) / 60000.0 and minute <= (@to - 30000) / 60000.0`;
const FROM_ROWS = {
  lowest: readings('min'),
  highest: readings('max'),
  bands: `select cast((at_ms - @from) / @slice as integer) as slice,
    avg(expected) as expected, avg(low) as low, avg(high) as high
    from expectation where channel = @channel and at_ms >= @from and at_ms <= @to group by 1 order by 1`,
};
/** Put together here: a day has few minutes, and grouping them by an expression would cost more than reading them. */
const READING_MINUTES =
  `select ${MINUTE} as atMs, lowest, highest from reading_minute ` + `where ${IN_WINDOW} order by minute`;
const EXPECTATION_MINUTES =
  `select ${MINUTE} as atMs, rows, expected, low, high from expectation_minute ` + `where ${IN_WINDOW} order by minute`;

type Window = { readonly channel: number; readonly from: number; readonly to: number; readonly slice: number };
type ReadingMinute = { readonly atMs: number; readonly lowest: number; readonly highest: number };
type ExpectationMinute = {
  readonly atMs: number;
  readonly rows: number;
  readonly expected: number;
  readonly low: number | null;
  readonly high: number | null;
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
  if (sliceMs < MINUTES_FROM_MS) {
    const [lowest, highest] = [FROM_ROWS.lowest, FROM_ROWS.highest].map((query) =>
      database.prepare<Window, Slice>(query).all(window),
    );
    if (lowest && highest && lowest.length > 0)
      return join(
        channel,
        pairs(lowest, highest),
        database.prepare<Window, Band>(FROM_ROWS.bands).all(window),
        fromMs,
        sliceMs,
      );
  }
  // Of what is older than everything is kept there are minutes only.
  const long = { ...window, slice: Math.max(sliceMs, MINUTES_FROM_MS) };
  return join(channel, fromMinutes(database, long), bandsFromMinutes(database, long), fromMs, long.slice);
}

function fromMinutes(database: Database.Database, window: Window): Slice[] {
  const [lowest, highest]: [Slice[], Slice[]] = [[], []];
  for (const minute of database.prepare<Window, ReadingMinute>(READING_MINUTES).all(window)) {
    const { atMs } = minute;
    const slice = Math.floor((atMs - window.from) / window.slice);
    if (lowest.at(-1)?.slice !== slice) {
      lowest.push({ slice, atMs, value: minute.lowest });
      highest.push({ slice, atMs, value: minute.highest });
      continue;
    }
    if (minute.lowest < lowest.at(-1)!.value) lowest[lowest.length - 1] = { slice, atMs, value: minute.lowest };
    if (minute.highest > highest.at(-1)!.value) highest[highest.length - 1] = { slice, atMs, value: minute.highest };
  }
  return pairs(lowest, highest);
}

function bandsFromMinutes(database: Database.Database, window: Window): Band[] {
  const sums: ExpectationMinute[] = [];
  const slices: number[] = [];
  const plus = (one: number | null, other: number | null): number | null =>
    one === null || other === null ? null : one + other;
  for (const minute of database.prepare<Window, ExpectationMinute>(EXPECTATION_MINUTES).all(window)) {
    const slice = Math.floor((minute.atMs - window.from) / window.slice);
    const sum = sums.at(-1);
    if (sum && slices.at(-1) === slice) {
      sums[sums.length - 1] = {
        ...sum,
        rows: sum.rows + minute.rows,
        expected: sum.expected + minute.expected,
        low: plus(sum.low, minute.low),
        high: plus(sum.high, minute.high),
      };
      continue;
    }
    sums.push(minute);
    slices.push(slice);
  }
  return sums.map(({ rows, expected, low, high }, index) => ({
    slice: slices[index]!,
    expected: expected / rows,
    low: low === null ? null : low / rows,
    high: high === null ? null : high / rows,
  }));
}

/** Both queries have the same slices. Of a minute nobody knows which came first. */
function pairs(lowest: readonly Slice[], highest: readonly Slice[]): Slice[] {
  return lowest.flatMap((low, index) => {
    const high = highest[index] ?? low;
    if (high.value === low.value) return [low];
    if (low.atMs === high.atMs)
      return [
        { ...low, atMs: low.atMs - MINUTE_QUARTER_MS },
        { ...high, atMs: high.atMs + MINUTE_QUARTER_MS },
      ];
    return low.atMs <= high.atMs ? [low, high] : [high, low];
  });
}

function join(
  channel: ChartChannel,
  measured: readonly Slice[],
  bands: readonly Band[],
  fromMs: number,
  sliceMs: number,
): Series {
  const series = {
    channel: channel.channel,
    atMs: [] as number[],
    measured: [] as (number | null)[],
    expected: [] as (number | null)[],
    low: [] as (number | null)[],
    high: [] as (number | null)[],
  };
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
  /**
   * Bands of slices where nothing was measured: shown in a gap, skipped in the ordinary jitter between two readings.
   */
  const pass = (untilSlice: number, inGap: boolean): void => {
    for (; next < bands.length && bands[next]!.slice < untilSlice; next += 1)
      if (inGap) push(middle(bands[next]!.slice), null, bands[next]);
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
