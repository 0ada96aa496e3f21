/**
 * Reads the file of one run back, without changing it: what came in, what was said, what was shown.
 *
 * In: path of a run's file, of this or an older version. Out: its rows in pages, so that a gateway that still writes
 * the file is never held up. Times are milliseconds on the run's clock unless their name says wall; values are SI.
 * Columns are read by name, so that a file to which later versions added some can be read too. Limit: a file that was
 * copied while it was written, without its `-wal` beside it, lacks the last rows.
 */
import Database from 'better-sqlite3';
import { existsSync } from 'node:fs';
import type { Layout } from '../../config/layout/layout.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Series } from '../../config/wire/live.ts';
import type { Alarm, Picture } from '../../config/wire/wire.ts';
import { GAP_MS } from '../core/telemetry/bursts.ts';
import type { Reading } from '../core/telemetry/reading.ts';
import { History, type PastEvent } from './history.ts';
import { readAlarm, readPicture } from './picture-record.ts';
import { readSeries } from './series.ts';

export interface RunHeader {
  readonly run: string;
  readonly site: string;
  readonly startedMs: number;
  readonly startedWallMs: number;
  readonly simulated: boolean;
  readonly software: string;
  readonly layoutText: string;
  readonly fingerprint: string;
}

export interface StoredEntry {
  readonly number: number;
  readonly atMs: number;
  readonly atWallMs: number;
  readonly afterPacket: number;
  readonly entry: Entry;
  readonly role: string | null;
  readonly refusal: string | null;
}

export interface StoredTransition {
  readonly atMs: number;
  readonly alarmId: string;
  readonly became: Alarm['state'] | 'gone';
  readonly alarm: Alarm;
}

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

export interface StoredBand {
  readonly atMs: number;
  readonly expected: number;
  readonly low: number | null;
  readonly high: number | null;
}

export interface PacketCount {
  readonly block: number;
  readonly topic: string;
  readonly verdict: string;
  readonly count: number;
  readonly lastMs: number;
}

type Cells = Readonly<Record<string, never>>;
type Statement<Row> = Database.Statement<unknown[], Row>;

/** Strangers may have sent any number of topics: those are not told apart. */
const OWN_TOPIC = "case when verdict in ('readings', 'status') then topic else '' end";
const PAGE = 2_000;
const PICTURES_PAGE = 50;

export type OpenedRun =
  { readonly ok: true; readonly reader: RunReader } | { readonly ok: false; readonly why: string };

export function openRun(path: string): OpenedRun {
  if (!existsSync(path)) return { ok: false, why: `There is no record ${path}.` };
  try {
    return { ok: true, reader: new RunReader(path) };
  } catch (error) {
    const why = `${path} cannot be read as a run's record: ${error instanceof Error ? error.message : String(error)}.`;
    const unopened = error instanceof Database.SqliteError && error.code.startsWith('SQLITE_CANTOPEN');
    return {
      ok: false,
      why: unopened
        ? `${why} If it lies on a disk that cannot be written, copy it to one that can, with the files ` +
          'of the same name beside it.'
        : why,
    };
  }
}

export class RunReader {
  readonly path: string;
  readonly header: RunHeader;
  readonly #database: Database.Database;
  readonly #statements = new Map<string, Statement<unknown>>();
  readonly #numbers: ReadonlyMap<string, number>;

  constructor(path: string) {
    this.path = path;
    this.#database = new Database(path, { readonly: true, timeout: 1_000 });
    const row = this.#one<Cells>('select * from run where id = 1');
    if (!row) throw new Error('it does not say which run it is');
    this.header = {
      run: row['name']!,
      site: row['site']!,
      startedMs: row['started_ms']!,
      startedWallMs: row['started_wall_ms']!,
      simulated: row['simulated'] === 1,
      software: row['software']!,
      layoutText: row['layout']!,
      fingerprint: row['layout_fingerprint']!,
    };
    this.#numbers = new Map(
      this.#all<{ id: string; number: number }>('select id, number from channel').map(({ id, number }) => [id, number]),
    );
  }

  /** For queries of this room; the file stays read-only. */
  get database(): Database.Database {
    return this.#database;
  }

  /** A run that turns out simulated is marked while it goes on. */
  get simulated(): boolean {
    return this.#one<{ simulated: number }>('select simulated from run where id = 1')?.simulated === 1;
  }

  get endMs(): number {
    const row = this.#one<{
      ms: number;
    }>(`select max(coalesce((select max(at_ms) from picture), 0), coalesce((select received_ms from packet order by number desc limit 1), 0),
      coalesce((select at_ms from entry order by number desc limit 1), 0), (select started_ms from run)) as ms`);
    return row?.ms ?? this.header.startedMs;
  }

  get channels(): readonly string[] {
    return [...this.#numbers.keys()];
  }

  numberOf(channel: string): number | null {
    return this.#numbers.get(channel) ?? null;
  }

  /** What the core was given, in that order. */
  *events(): Generator<PastEvent> {
    const history = new History(this.path);
    try {
      for (let event = history.next(); event; event = history.next()) yield event;
    } finally {
      history.close();
    }
  }

  /** Packets by verdict, those of known devices by topic too, in blocks of so many numbers. */
  packetCounts(blockSize: number): PacketCount[] {
    return this.#all<PacketCount>(
      `select number / ${blockSize} as block, ${OWN_TOPIC} as topic, verdict, count(*) as count, ` +
        'max(received_ms) as lastMs from packet group by 1, 2, 3',
    );
  }

  /** The same of the packets with these numbers, both included. */
  packetsBetween(first: number, last: number): PacketCount[] {
    return this.#all<PacketCount>(
      `select 0 as block, ${OWN_TOPIC} as topic, verdict, count(*) as count, max(received_ms) as ` +
        'lastMs from packet where number between ? and ? group by 2, 3',
      first,
      last,
    );
  }

  /** Number of the last packet received before a moment; 0: none. Numbers rise with the time of receipt. */
  lastPacketBy(atMs: number): number {
    let low = 0;
    let high = this.#one<{ last: number | null }>('select max(number) as last from packet')?.last ?? 0;
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      const row = this.#one<{ ms: number }>(
        'select received_ms as ms from packet where number <= ? order by number desc limit 1',
        middle,
      );
      if (row && row.ms < atMs) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  entries(): StoredEntry[] {
    const rows = this.#all<{
      number: number;
      at_ms: number;
      at_wall_ms: number;
      after_packet: number;
      body: string;
      refusal: string | null;
    }>('select number, at_ms, at_wall_ms, after_packet, body, refusal from entry order by number');
    return rows.map((row) => {
      const entry = JSON.parse(row.body) as Entry & { readonly role?: string };
      return {
        number: row.number,
        atMs: row.at_ms,
        atWallMs: row.at_wall_ms,
        afterPacket: row.after_packet,
        entry,
        role: entry.role ?? null,
        refusal: row.refusal,
      };
    });
  }

  transitions(): StoredTransition[] {
    const rows = this.#all<{ at_ms: number; alarm: string; became: Alarm['state'] | 'gone'; body: string }>(
      'select at_ms, alarm, became, body from alarm_transition order by number',
    );
    return rows.map((row) => ({
      atMs: row.at_ms,
      alarmId: row.alarm,
      became: row.became,
      alarm: readAlarm(JSON.parse(row.body) as Alarm),
    }));
  }

  pictureTimes(): number[] {
    return this.#all<{ at_ms: number }>('select at_ms from picture order by at_ms').map(({ at_ms: atMs }) => atMs);
  }

  /** Bodies as they were written. */
  *pictureTexts(fromMs = -Infinity): Generator<{ readonly atMs: number; readonly body: string }> {
    let from = fromMs;
    for (;;) {
      const rows = this.#all<{ atMs: number; body: string }>(
        `select at_ms as atMs, body from picture where at_ms >= ? order by at_ms limit ${PICTURES_PAGE}`,
        Number.isFinite(from) ? from : 0,
      );
      yield* rows;
      if (rows.length < PICTURES_PAGE) return;
      from = rows.at(-1)!.atMs + 1;
    }
  }

  /** The last whole picture at or before a moment. */
  pictureAt(atMs: number): Picture | null {
    const row = this.#one<{ body: string }>(
      'select body from picture where at_ms <= ? order by at_ms desc limit 1',
      atMs,
    );
    return row ? readPicture(row.body) : null;
  }

  /**
   * The newest live readings of a channel that had been received before a moment, oldest first; in hindsight, all that
   * had been measured.
   */
  readingsBefore(channel: string, atMs: number, count: number, hindsight = false): StoredReading[] {
    const number = this.#numbers.get(channel);
    if (number === undefined) return [];
    const known = hindsight ? 'at_ms < ? and at_ms < ?' : 'at_ms <= ? and received_ms < ? and live = 1';
    const rows = this.#all<StoredRow>(
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
    const rows = this.#prepare<StoredRow>(
      `select ${STORED} from reading where channel = ? and at_ms between ? and ? order by at_ms desc`,
    ).iterate(number, fromMs - LONGEST_BURST_MS, beforeMs);
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

  /** What was expected of a channel in the frame of that moment; null: nothing. */
  bandAt(channel: string, atMs: number): StoredBand | null {
    const number = this.#numbers.get(channel);
    if (number === undefined) return null;
    return (
      this.#one<StoredBand>(
        'select at_ms as atMs, expected, low, high from expectation where channel = ? and at_ms = ?',
        number,
        atMs,
      ) ?? null
    );
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
    return this.#one(
      `select count(*) as readings, coalesce(sum(step > @gap), 0) as gaps, coalesce(sum(case when step > @gap then step end), 0) as gapMs, coalesce(max(case when step > @gap then step end), 0) as longestGapMs,
      coalesce(sum(not in_range), 0) as outOfRange, coalesce(sum(not live), 0) as late, min(at_ms) as firstMs, max(at_ms) as lastMs
      from (select at_ms, in_range, live, at_ms - lag(at_ms) over (order by at_ms) as step from reading where channel = @channel)`,
      { channel: this.#numbers.get(channel) ?? -1, gap: 3 * intervalMs },
    )!;
  }

  /** Minute means of a channel, in order. */
  minuteMeans(channel: string): number[] {
    return this.#all<{ mean: number }>(
      'select total / rows as mean from reading_minute where channel = ? order by minute',
      this.#numbers.get(channel) ?? -1,
    ).map(({ mean }) => mean);
  }

  /** Readings in pages, rising in time within a channel. */
  *readings(channel: string): Generator<StoredReading> {
    const number = this.#numbers.get(channel) ?? -1;
    let afterMs = -Infinity;
    for (;;) {
      const rows = this.#all<StoredRow>(
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
    return this.#all<{
      id: string;
      at_ms: number;
      value: number;
      received_ms: number;
      device_ms: number | null;
      in_range: number;
    }>(
      'select channel.id, at_ms, value, received_ms, device_ms, in_range from reading join channel on ' +
        'channel.number = reading.channel where live = 0 order by at_ms',
    ).map((row) => ({
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
      : readSeries(this.#database, { channel, number, intervalMs: sensor.intervalS * 1_000 }, fromMs, toMs);
  }

  close(): void {
    this.#database.close();
  }

  #prepare<Row>(sql: string): Statement<Row> {
    let statement = this.#statements.get(sql);
    if (!statement) {
      statement = this.#database.prepare<unknown[], unknown>(sql);
      this.#statements.set(sql, statement);
    }
    return statement as Statement<Row>;
  }

  #all<Row>(sql: string, ...cells: readonly (number | string)[]): Row[] {
    return this.#prepare<Row>(sql).all(...cells);
  }

  #one<Row>(sql: string, ...cells: readonly (number | string | Readonly<Record<string, number>>)[]): Row | undefined {
    return this.#prepare<Row>(sql).get(...cells);
  }
}

/** A device's clock may be this far ahead of receipt and still be believed, times a simulation's speed. */
const AHEAD_MS = 600_000;
/** Judgement: what goes on for longer is no burst any more, and is told in part. */
const LONGEST_BURST_MS = 30_000;
