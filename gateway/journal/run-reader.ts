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
import type { Entry } from '../../config/wire/entry.ts';
import type { Alarm, Picture } from '../../config/wire/wire.ts';
import { ChannelReader } from './channel-reader.ts';
import { History, type PastEvent } from './history.ts';
import { PacketReader } from './packet-reader.ts';
import { readAlarm, readPicture } from './picture-record.ts';
import { ReadOnlyFile } from './read-only-file.ts';

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

export interface StoredBand {
  readonly atMs: number;
  readonly expected: number;
  readonly low: number | null;
  readonly high: number | null;
}

type Cells = Readonly<Record<string, never>>;
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
  readonly packets: PacketReader;
  readonly channels: ChannelReader;
  readonly #file: ReadOnlyFile;
  readonly #numbers: ReadonlyMap<string, number>;

  constructor(path: string) {
    this.path = path;
    this.#file = new ReadOnlyFile(path);
    const row = this.#file.one<Cells>('select * from run where id = 1');
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
      this.#file
        .all<{ id: string; number: number }>('select id, number from channel')
        .map(({ id, number }) => [id, number]),
    );
    this.packets = new PacketReader(this.#file);
    this.channels = new ChannelReader(this.#file, this.#numbers);
  }

  /** For queries of this room; the file stays read-only. */
  get database(): Database.Database {
    return this.#file.database;
  }

  /** A run that turns out simulated is marked while it goes on. */
  get simulated(): boolean {
    return this.#file.one<{ simulated: number }>('select simulated from run where id = 1')?.simulated === 1;
  }

  get endMs(): number {
    const row = this.#file.one<{
      ms: number;
    }>(`select max(coalesce((select max(at_ms) from picture), 0),
      coalesce((select received_ms from packet order by number desc limit 1), 0),
      coalesce((select at_ms from entry order by number desc limit 1), 0), (select started_ms from run)) as ms`);
    return row?.ms ?? this.header.startedMs;
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

  entries(): StoredEntry[] {
    const rows = this.#file.all<{
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
    const rows = this.#file.all<{ at_ms: number; alarm: string; became: Alarm['state'] | 'gone'; body: string }>(
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
    return this.#file.all<{ at_ms: number }>('select at_ms from picture order by at_ms').map(({ at_ms: atMs }) => atMs);
  }

  /** Bodies as they were written. */
  *pictureTexts(fromMs = -Infinity): Generator<{ readonly atMs: number; readonly body: string }> {
    let from = fromMs;
    for (;;) {
      const rows = this.#file.all<{ atMs: number; body: string }>(
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
    const row = this.#file.one<{ body: string }>(
      'select body from picture where at_ms <= ? order by at_ms desc limit 1',
      atMs,
    );
    return row ? readPicture(row.body) : null;
  }

  /** What was expected of a channel in the frame of that moment; null: nothing. */
  bandAt(channel: string, atMs: number): StoredBand | null {
    const number = this.#numbers.get(channel);
    if (number === undefined) return null;
    return (
      this.#file.one<StoredBand>(
        'select at_ms as atMs, expected, low, high from expectation where channel = ? and at_ms = ?',
        number,
        atMs,
      ) ?? null
    );
  }

  close(): void {
    this.#file.database.close();
  }
}
