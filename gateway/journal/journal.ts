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
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Series } from '../../config/wire/live.ts';
import type { Picture } from '../../config/wire/wire.ts';
import type { Reading } from '../core/telemetry/reading.ts';
import { findEarlierRun, type EarlierRun } from './earlier-run.ts';
import { History } from './history.ts';
import { PictureRecord, readPicture } from './picture-record.ts';
import { freeBytesOn } from './retention.ts';
import type { RunFacts } from './run-file.ts';
import { RunUpkeep } from './run-upkeep.ts';
import { RunWriter } from './run-writer.ts';
import { readSeries } from './series.ts';
import { FailingDisk, WAITING_MAX, WaitingRows, WaitingSenders } from './waiting.ts';

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

export class Journal {
  /** What this run was before the gateway started again; null for a run of its own. */
  readonly earlier: EarlierRun | null;
  /** As shown last before that. */
  readonly lastPicture: Picture | null = null;
  readonly #facts: RunFacts;
  readonly #numbers: ReadonlyMap<string, number>;
  readonly #record = new PictureRecord();
  readonly #writer: RunWriter;
  readonly #upkeep: RunUpkeep;
  readonly #rows = new WaitingRows();
  readonly #senders = new WaitingSenders();
  readonly #disk = new FailingDisk();
  #packets = 0;
  #entries = { session: randomUUID(), taken: 0, written: 0 };

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
    this.#facts = facts;
    this.#upkeep = new RunUpkeep(folder, facts.layout.site, freeBytes);
    this.#writer = new RunWriter(folder, facts, earlier);
    this.#numbers = new Map(facts.layout.sensors.map((sensor, number) => [sensor.id, number]));
    this.earlier = earlier;
    if (patient) this.flush();
    else this.#writer.open();
    if (earlier && this.#writer.database) this.lastPicture = this.#goOn(earlier, this.#writer.database);
  }

  /** Goes on with the run that a gateway of this site left a while ago, if there is one; else begins one. */
  static open(folder: string, facts: RunFacts, patient = false, freeBytes?: (folder: string) => number): Journal {
    return new Journal(folder, facts, patient, patient ? null : findEarlierRun(folder, facts), freeBytes);
  }

  get run(): string {
    return this.#writer.run;
  }

  get path(): string {
    return this.#writer.path;
  }

  /** What is on disk of this run so far. */
  history(): History {
    return new History(this.path);
  }

  get state(): FeedPicture['journal'] {
    const lost = this.#rows.lost > 0 ? `${this.#rows.lost} rows found no room in memory while the disk failed` : null;
    const { why } = this.#disk;
    const entries = this.#entries;
    if (why === null) return { state: 'writing', why: this.#upkeep.words ?? lost, entries };
    return { state: 'failed', why: lost === null ? why : `${why}; ${lost}`, entries };
  }

  /** How many senders wait for the next flush; none while the disk fails, because then it is tried less often. */
  get awaited(): number {
    return this.#disk.why === null ? this.#senders.count : 0;
  }

  /** A sender has not been acknowledged and will not be: it must send again, once the disk writes. */
  get owes(): boolean {
    return this.#senders.owes;
  }

  requireResend(): void {
    this.#senders.requireResend();
  }

  resendRequested(): void {
    this.#senders.resendRequested();
  }

  /** Returns the packet's number in this run. Null: there is no room for it, so it is not acknowledged either. */
  packet(row: PacketRow, acknowledge: (() => void) | null = null): number | null {
    if (!this.#rows.hasRoom()) {
      if (acknowledge) this.#senders.requireResend();
      return null;
    }
    this.#packets += 1;
    this.acknowledgeWithNext(acknowledge);
    this.#rows.add(
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
    if (acknowledge) this.#senders.add(acknowledge);
  }

  reading(reading: Reading, live: boolean, packet: number): void {
    const number = this.#numbers.get(reading.channel);
    if (number === undefined) return;
    const inRange = Number(reading.grade === 'good');
    this.#rows.add(
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
      if (number !== undefined && channel.expected !== null && this.#rows.hasRoom(WAITING_MAX / 2))
        this.#rows.add('expectation', number, picture.atMs, channel.expected, channel.low, channel.high);
    }
    for (const { atMs, alarm, became, body } of this.#record.transitions(picture))
      this.#rows.add('alarm', atMs, alarm, became, body);
    if (!this.#record.worthKeeping(picture) || !this.#rows.hasRoom(WAITING_MAX / 2)) return;
    this.#rows.add('picture', picture.atMs, JSON.stringify(picture));
    const body = books?.() ?? null;
    if (body !== null) this.#rows.books(picture.atMs, body);
  }

  entry(entry: Entry, atMs: number, wallMs: number, refusal: string | null): void {
    if (refusal === null) this.#entries = { ...this.#entries, taken: this.#entries.taken + 1 };
    this.#rows.add(
      'entry',
      Math.round(atMs),
      wallMs,
      this.#packets,
      entry.kind,
      entry.by,
      JSON.stringify(entry),
      refusal,
    );
  }

  /** The core threw: what it was doing, so that the frame can be played again. */
  breakage(atMs: number, doing: string, why: string): void {
    this.#rows.add('breakage', Math.round(atMs), this.#packets, doing, why);
  }

  markSimulated(): void {
    this.#rows.add('simulated', 1);
  }

  flush(): void {
    if (this.#disk.due()) this.#try();
    this.#acknowledge();
  }

  #acknowledge(): void {
    if (this.#rows.empty) this.#senders.acknowledge();
  }

  /**
   * Counts the uptime and looks after the room on the disk; to be called often. `upMs`: of this process, which no clock
   * of a wall can change.
   */
  tend(upMs: number): void {
    const { run, path, database } = this.#writer;
    if (!database || this.#disk.why !== null) return;
    this.#upkeep.tend({ run, path, database }, upMs, (meterMs) => this.#rows.add('uptime', meterMs));
  }

  /** Measured values and the model's band for a chart; empty while the file cannot be read. */
  series(channel: string, fromMs: number, toMs: number): Series | null {
    const number = this.#numbers.get(channel);
    const sensor = this.#facts.layout.sensors[number ?? -1];
    if (number === undefined || !sensor) return null;
    const { database } = this.#writer;
    if (!database) return { channel, atMs: [], measured: [], expected: [], low: [], high: [] };
    return readSeries(database, { channel, number, intervalMs: sensor.intervalS * 1_000 }, fromMs, toMs);
  }

  /** False: what waited is lost, and was not acknowledged. */
  close(): boolean {
    this.#try();
    this.#acknowledge();
    this.#writer.release();
    this.#upkeep.close();
    this.#writer.releaseClaim();
    return this.#rows.empty;
  }

  #goOn({ endedMs }: EarlierRun, database: Database.Database): Picture | null {
    const { newest } = database
      .prepare<[], { newest: number | null }>('select max(number) as newest from packet')
      .get() ?? { newest: null };
    this.#packets = newest ?? 0;
    const { startedMs, startedWallMs, software } = this.#facts;
    this.#rows.add('restart', Math.round(startedMs), startedWallMs, endedMs, this.#packets, software);
    const last = database.prepare<[], { body: string }>('select body from picture order by at_ms desc limit 1').get();
    if (!last) return null;
    const picture = readPicture(last.body);
    this.#record.transitions(picture);
    return picture;
  }

  #try(): void {
    try {
      this.#writer.commit(this.#rows.all);
      this.#rows.written();
      this.#entries = { ...this.#entries, written: this.#entries.taken };
      this.#disk.worked();
    } catch (error) {
      this.#disk.failed(error);
      this.#writer.release();
    }
  }
}
