/**
 * The run's record: what came in, what people said, what was shown. The only truth; everything else can be recomputed.
 *
 * In: rows of one run, gathered in memory. Out: one durable commit for each `flush`, after which the packets in it are
 * acknowledged to their senders. When the disk fails, rows wait in memory (bounded; what finds no room is refused and
 * counted) and each flush tries again with a growing pause, while the watch goes on and senders keep what they have
 * sent. Limit: what nobody waits to have acknowledged (QoS 0) and came in since the last flush is lost with the power.
 */
import type Database from 'better-sqlite3';
import { randomUUID } from 'node:crypto';
import { existsSync, statSync } from 'node:fs';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Series } from '../../config/wire/live.ts';
import type { Picture } from '../../config/wire/wire.ts';
import type { Reading } from '../core/telemetry/reading.ts';
import { findEarlierRun, type EarlierRun } from './earlier-run.ts';
import { History } from './history.ts';
import { PictureRecord, readPicture } from './picture-record.ts';
import { freeBytesOn, Retention, spaceOf, type Space } from './retention.ts';
import { claimRun } from './run-claim.ts';
import { openRunFile, type RunFacts } from './run-file.ts';
import { nameRun, pathOf } from './run-name.ts';
import { readSeries } from './series.ts';

export interface PacketRow {
  readonly receivedMs: number;
  readonly receivedWallMs: number;
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly retained: boolean;
  /** What the sender of a packet of QoS 1 called it. */
  readonly messageId?: number | undefined;
  readonly verdict: string;
}

const INSERTS = {
  packet: 'insert into packet values (?, ?, ?, ?, ?, ?, ?, ?)',
  reading: 'insert or ignore into reading values (?, ?, ?, ?, ?, ?, ?, ?)',
  expectation: 'insert or ignore into expectation values (?, ?, ?, ?, ?)',
  entry: 'insert into entry values (null, ?, ?, ?, ?, ?, ?, ?)',
  alarm: 'insert into alarm_transition values (null, ?, ?, ?, ?)',
  picture: 'insert or replace into picture values (?, ?)',
  books: 'insert or replace into books values (1, ?, ?)',
  restart: 'insert into restart values (null, ?, ?, ?, ?, ?)',
  breakage: 'insert into breakage values (null, ?, ?, ?, ?)',
  uptime: 'update uptime set ended_ms = max(ended_ms, ?)',
  simulated: 'update run set simulated = ?',
} as const;

type Cell = string | number | null | Uint8Array;
interface Row {
  readonly kind: keyof typeof INSERTS;
  readonly cells: readonly Cell[];
}

/** Judgement: two hours of a site of ten gauges. */
const WAITING_MAX = 200_000;
const PAUSE_MAX_FLUSHES = 120;
const TEND_EVERY_MS = 60_000;
/** Judgement: sooner, how fast the file grows is not known. */
const RATE_FROM_H = 1;

export class Journal {
  /** What this run was before the gateway started again; null for a run of its own. */
  readonly earlier: EarlierRun | null;
  /** As shown last before that. */
  readonly lastPicture: Picture | null = null;
  readonly #folder: string;
  readonly #facts: RunFacts;
  readonly #freeBytes: (folder: string) => number;
  readonly #retention: Retention;
  readonly #numbers: ReadonlyMap<string, number>;
  readonly #record = new PictureRecord();
  #claim: EarlierRun['claim'] | null;
  #database: Database.Database | null = null;
  #statements = new Map<keyof typeof INSERTS, Database.Statement<[readonly Cell[]]>>();
  #waiting: Row[] = [];
  /** Only the newest is of use. */
  #books: Row | null = null;
  #unacknowledged: (() => void)[] = [];
  #owes = false;
  #packets = 0;
  #entries = { session: randomUUID(), taken: 0, written: 0 };
  #lost = 0;
  #why: string | null = null;
  #pause = 0;
  #pauseLeft = 0;
  #run: string;
  /** Its file is on disk, so it keeps its name. */
  #begun: boolean;
  /**
   * When this was tended first and last, by the uptime; what the hour meter read and how large the file was at first.
   */
  #up: {
    readonly firstMs: number;
    readonly meterMs: number;
    readonly bytes: number;
    tendedMs: number;
  } | null = null;
  #space: Space = { keepAllMs: Infinity, words: null };

  /**
   * Throws when the folder cannot be written: a gateway must not start without its record. One that already runs is
   * `patient`: the watch goes on, and opening is tried again with each flush.
   */
  constructor(
    folder: string,
    facts: RunFacts,
    patient = false,
    earlier: EarlierRun | null = null,
    freeBytes: (folder: string) => number = freeBytesOn,
  ) {
    this.#folder = folder;
    this.#facts = facts;
    this.#freeBytes = freeBytes;
    this.#retention = new Retention(folder, facts.layout.site);
    this.#run = earlier?.run ?? nameRun(folder, facts.layout.site, facts.startedWallMs);
    this.#begun = earlier !== null;
    this.#numbers = new Map(facts.layout.sensors.map((sensor, number) => [sensor.id, number]));
    this.earlier = earlier;
    this.#claim = earlier?.claim ?? null;
    if (patient) this.flush();
    else this.#database = this.#open();
    if (earlier && this.#database) this.lastPicture = this.#goOn(earlier, this.#database);
  }

  /** Goes on with the run that a gateway of this site left a while ago, if there is one; else begins one. */
  static open(folder: string, facts: RunFacts, patient = false, freeBytes?: (folder: string) => number): Journal {
    return new Journal(folder, facts, patient, patient ? null : findEarlierRun(folder, facts), freeBytes);
  }

  get run(): string {
    return this.#run;
  }

  get path(): string {
    return pathOf(this.#folder, this.#run);
  }

  /** What is on disk of this run so far. */
  history(): History {
    return new History(this.path);
  }

  get state(): FeedPicture['journal'] {
    const lost = this.#lost > 0 ? `${this.#lost} rows found no room in memory while the disk failed` : null;
    const entries = this.#entries;
    if (this.#why === null) return { state: 'writing', why: this.#space.words ?? lost, entries };
    return { state: 'failed', why: lost === null ? this.#why : `${this.#why}; ${lost}`, entries };
  }

  /** How many senders wait for the next flush; none while the disk fails, because then it is tried less often. */
  get awaited(): number {
    return this.#why === null ? this.#unacknowledged.length : 0;
  }

  /** A sender has not been acknowledged and will not be: it must send again, once the disk writes. */
  get owes(): boolean {
    return this.#owes;
  }

  requireResend(): void {
    this.#owes = true;
  }

  resendRequested(): void {
    this.#owes = false;
  }

  /** Returns the packet's number in this run. Null: there is no room for it, so it is not acknowledged either. */
  packet(row: PacketRow, acknowledge: (() => void) | null = null): number | null {
    if (!this.#hasRoom(WAITING_MAX)) {
      this.#owes ||= acknowledge !== null;
      return null;
    }
    this.#packets += 1;
    this.acknowledgeWithNext(acknowledge);
    this.#add(
      'packet',
      this.#packets,
      Math.round(row.receivedMs),
      row.receivedWallMs,
      row.topic,
      row.payload,
      Number(row.retained),
      row.verdict,
      row.messageId ?? null,
    );
    return this.#packets;
  }

  /** For a packet that adds nothing: its first copy may still wait to be written. */
  acknowledgeWithNext(acknowledge: (() => void) | null): void {
    if (!acknowledge) return;
    if (this.#unacknowledged.length < WAITING_MAX) this.#unacknowledged.push(acknowledge);
    else this.#owes = true;
  }

  reading(reading: Reading, live: boolean, packet: number): void {
    const number = this.#numbers.get(reading.channel);
    if (number === undefined) return;
    const inRange = Number(reading.grade === 'good');
    this.#add(
      'reading',
      number,
      reading.atMs,
      reading.value,
      Math.round(reading.receivedMs),
      reading.deviceMs,
      packet,
      inRange,
      Number(live),
    );
  }

  /**
   * Can be made again from the packets, so it gives way to them. `books`: what has been counted, written down with each
   * whole picture that is kept.
   */
  picture(picture: Picture, books?: () => string | null): void {
    for (const channel of picture.channels) {
      const number = this.#numbers.get(channel.channel);
      if (number !== undefined && channel.expected !== null && this.#hasRoom(WAITING_MAX / 2))
        this.#add('expectation', number, picture.atMs, channel.expected, channel.low, channel.high);
    }
    for (const { atMs, alarm, became, body } of this.#record.transitions(picture))
      this.#add('alarm', atMs, alarm, became, body);
    if (!this.#record.worthKeeping(picture) || !this.#hasRoom(WAITING_MAX / 2)) return;
    this.#add('picture', picture.atMs, JSON.stringify(picture));
    const body = books?.() ?? null;
    if (body !== null) this.#books = { kind: 'books', cells: [picture.atMs, body] };
  }

  entry(entry: Entry, atMs: number, wallMs: number, refusal: string | null): void {
    if (refusal === null) this.#entries = { ...this.#entries, taken: this.#entries.taken + 1 };
    this.#add('entry', Math.round(atMs), wallMs, this.#packets, entry.kind, entry.by, JSON.stringify(entry), refusal);
  }

  /** The core threw: what it was doing, so that the frame can be played again. */
  breakage(atMs: number, doing: string, why: string): void {
    this.#add('breakage', Math.round(atMs), this.#packets, doing, why);
  }

  markSimulated(): void {
    this.#add('simulated', 1);
  }

  flush(): void {
    if (this.#why === null || this.#pauseLeft === 0) this.#try();
    else this.#pauseLeft -= 1;
    this.#acknowledge();
  }

  #acknowledge(): void {
    if (this.#waiting.length > 0) return;
    const acknowledged = this.#unacknowledged;
    this.#unacknowledged = [];
    for (const acknowledge of acknowledged) acknowledge();
  }

  /**
   * Counts the uptime and looks after the room on the disk; to be called often. `upMs`: of this process, which no clock
   * of a wall can change.
   */
  tend(upMs: number): void {
    if (!this.#database || this.#why !== null) return;
    try {
      this.#up ??= {
        firstMs: upMs,
        meterMs: readMeter(this.#database),
        bytes: statSync(this.path).size,
        tendedMs: -Infinity,
      };
      const { firstMs, bytes, tendedMs } = this.#up;
      const meterMs = Math.round(this.#up.meterMs + upMs - firstMs);
      if (upMs - tendedMs >= TEND_EVERY_MS) {
        this.#up.tendedMs = upMs;
        this.#add('uptime', meterMs);
        const hours = (upMs - firstMs) / 3_600_000;
        const perHour = hours < RATE_FROM_H ? null : (statSync(this.path).size - bytes) / hours;
        this.#space = spaceOf(this.#freeBytes(this.#folder), perHour);
      }
      this.#retention.tend(this.#run, meterMs, upMs, this.#space.keepAllMs);
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      this.#space = { keepAllMs: Infinity, words: `The room on the disk could not be looked after: ${why}` };
    }
  }

  /** Measured values and the model's band for a chart; empty while the file cannot be read. */
  series(channel: string, fromMs: number, toMs: number): Series | null {
    const number = this.#numbers.get(channel);
    const sensor = this.#facts.layout.sensors[number ?? -1];
    if (number === undefined || !sensor) return null;
    if (!this.#database) return { channel, atMs: [], measured: [], expected: [], low: [], high: [] };
    return readSeries(this.#database, { channel, number, intervalMs: sensor.intervalS * 1_000 }, fromMs, toMs);
  }

  /** False: what waited is lost, and was not acknowledged. */
  close(): boolean {
    this.#try();
    this.#acknowledge();
    this.#release();
    this.#retention.close();
    this.#claim?.release();
    this.#claim = null;
    return this.#waiting.length === 0;
  }

  #goOn({ endedMs }: EarlierRun, database: Database.Database): Picture | null {
    const { newest } = database
      .prepare<[], { newest: number | null }>('select max(number) as newest from packet')
      .get() ?? { newest: null };
    this.#packets = newest ?? 0;
    const { startedMs, startedWallMs, software } = this.#facts;
    this.#add('restart', Math.round(startedMs), startedWallMs, endedMs, this.#packets, software);
    const last = database.prepare<[], { body: string }>('select body from picture order by at_ms desc limit 1').get();
    if (!last) return null;
    const picture = readPicture(last.body);
    this.#record.transitions(picture);
    return picture;
  }

  #try(): void {
    try {
      this.#commit();
      this.#why = null;
      this.#pause = 0;
    } catch (error) {
      this.#why = error instanceof Error ? error.message : String(error);
      this.#pause = Math.min(PAUSE_MAX_FLUSHES, 2 * this.#pause + 1);
      this.#pauseLeft = this.#pause;
      this.#release();
    }
  }

  /** Whether a name is free is known once the disk is there; what is begun keeps its own. */
  #open(): Database.Database {
    if (!this.#begun && !this.#claim)
      this.#run = nameRun(this.#folder, this.#facts.layout.site, this.#facts.startedWallMs);
    this.#claim ??= claimRun(this.#folder, this.#run);
    const database = openRunFile(this.path, this.#run, this.#facts);
    this.#begun = true;
    return database;
  }

  #add(kind: Row['kind'], ...cells: Row['cells']): void {
    this.#waiting.push({ kind, cells });
  }

  #hasRoom(most: number): boolean {
    if (this.#waiting.length < most) return true;
    this.#lost += 1;
    return false;
  }

  #commit(): void {
    // A file that was deleted or whose disk was pulled takes writes without complaint, into nothing.
    if (!existsSync(this.path)) this.#release();
    this.#database ??= this.#open();
    const database = this.#database;
    const rows = this.#books ? [...this.#waiting, this.#books] : this.#waiting;
    if (rows.length > 0) database.transaction(() => this.#write(database, rows)).immediate();
    this.#waiting = [];
    this.#books = null;
    this.#entries = { ...this.#entries, written: this.#entries.taken };
  }

  #write(database: Database.Database, rows: readonly Row[]): void {
    for (const { kind, cells } of rows) {
      let statement = this.#statements.get(kind);
      if (!statement) {
        statement = database.prepare<[readonly Cell[]]>(INSERTS[kind]);
        this.#statements.set(kind, statement);
      }
      statement.run(cells);
    }
  }

  #release(): void {
    this.#statements = new Map();
    try {
      this.#database?.close();
    } finally {
      this.#database = null;
    }
  }
}

/** The hour meter as this run has it. */
function readMeter(database: Database.Database): number {
  return database.prepare<[], { meterMs: number }>('select ended_ms as meterMs from uptime').get()!.meterMs;
}
