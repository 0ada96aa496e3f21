/**
 * What a run's journal holds of packets, entries and restarts, in the order in which the core was given them.
 *
 * In: the file of a run, of this or an older version, which may still be written. Out: events, one at a time; null when
 * there are no more for now. Read in pages over a connection of its own, because an open cursor would keep the
 * write-ahead log from being recycled.
 */
import Database from 'better-sqlite3';
import type { Entry } from '../../config/wire/entry.ts';
import type { Alarm } from '../../config/wire/wire.ts';
import type { Reading } from '../core/telemetry/reading.ts';
import { readPicture } from './picture-record.ts';

export interface PastPacket {
  readonly kind: 'packet';
  readonly number: number;
  readonly receivedMs: number;
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly retained: boolean;
  readonly messageId: number | null;
  /** What became of it. */
  readonly verdict: string;
}

export type PastEvent =
  | PastPacket
  | {
      readonly kind: 'entry';
      readonly afterPacket: number;
      readonly number: number;
      readonly atMs: number;
      readonly entry: Entry;
      readonly refusal: string | null;
    }
  /** The gateway was away from `endedMs` to `atMs`. */
  | {
      readonly kind: 'restart';
      readonly afterPacket: number;
      readonly number: number;
      readonly atMs: number;
      readonly endedMs: number;
    };

const PAGE = 500;

const packetsWith = (messageId: string): string =>
  `select number, received_ms as receivedMs, topic, payload, retained, ${messageId} as messageId, ` +
  'verdict from packet where number > ? order by number limit ?';
const ENTRIES =
  'select number, at_ms as atMs, after_packet as afterPacket, body, refusal from entry where number > ' +
  '? and after_packet <= ? order by number';
const RESTARTS =
  'select number, at_ms as atMs, ended_ms as endedMs, after_packet as afterPacket from restart where ' +
  'number > ? and after_packet <= ? order by number';

type PacketRow = Omit<PastPacket, 'kind' | 'retained'> & { readonly retained: number };
type EntryRow = {
  readonly number: number;
  readonly atMs: number;
  readonly afterPacket: number;
  readonly body: string;
  readonly refusal: string | null;
};
type RestartRow = {
  readonly number: number;
  readonly atMs: number;
  readonly endedMs: number;
  readonly afterPacket: number;
};

export class History {
  readonly #database: Database.Database;
  #page: PastEvent[] = [];
  #at = 0;
  #packet = 0;
  #entry = 0;
  #restart = 0;
  /** What older versions did not write down. */
  readonly #has: { readonly messageIds: boolean; readonly restarts: boolean; readonly books: boolean };

  constructor(path: string) {
    this.#database = new Database(path, { readonly: true, timeout: 1_000 });
    const version = Number(this.#database.pragma('user_version', { simple: true }));
    this.#has = { messageIds: version >= 2, restarts: version >= 3, books: version >= 5 };
  }

  next(): PastEvent | null {
    if (this.#at >= this.#page.length) {
      this.#page = this.#read();
      this.#at = 0;
    }
    return this.#page[this.#at++] ?? null;
  }

  /**
   * The first packet received at `atMs` or later; one more than there are, if there is none. Numbers rise with time.
   */
  firstFrom(atMs: number): number {
    const received = this.#database.prepare<[number], { receivedMs: number }>(
      'select received_ms as receivedMs from packet where number >= ? order by number limit 1',
    );
    let [low, high] = [1, this.newest + 1];
    while (low < high) {
      const middle = Math.floor((low + high) / 2);
      if ((received.get(middle)?.receivedMs ?? Infinity) < atMs) low = middle + 1;
      else high = middle;
    }
    return low;
  }

  get newest(): number {
    return (
      this.#database.prepare<[], { newest: number }>('select coalesce(max(number), 0) as newest from packet').get()
        ?.newest ?? 0
    );
  }

  /** What had been counted at the last recorded picture, and when that was. */
  get books(): { readonly atMs: number; readonly body: string } | null {
    if (!this.#has.books) return null;
    return (
      this.#database
        .prepare<[], { atMs: number; body: string }>('select at_ms as atMs, body from books where id = 1')
        .get() ?? null
    );
  }

  /** Entries of these kinds that were taken, oldest first. */
  taken(...kinds: readonly Entry['kind'][]): { readonly entry: Entry; readonly atMs: number }[] {
    const rows = this.#database
      .prepare<[], { kind: string; atMs: number; body: string }>(
        'select kind, at_ms as atMs, body from entry where refusal is null order by number',
      )
      .all();
    return rows
      .filter(({ kind }) => kinds.some((one) => one === kind))
      .map(({ body, atMs }) => ({ entry: JSON.parse(body) as Entry, atMs }));
  }

  /** Alarms that stood in the last whole picture, set aside or not: those that were raised last, oldest first. */
  standing(most: number): Alarm[] {
    const last = this.#database
      .prepare<[], { body: string }>('select body from picture order by at_ms desc limit 1')
      .get();
    if (!last) return [];
    const { alarms, setAside } = readPicture(last.body);
    return [...alarms, ...setAside]
      .filter(({ clearedMs }) => clearedMs === null)
      .sort((one, other) => one.raisedMs - other.raisedMs)
      .slice(-most);
  }

  /** Of every channel the newest reading on the screen that was received before then, oldest first. */
  newestReadings(beforeMs: number): Reading[] {
    const newest = this.#database.prepare<[number, number], Omit<Reading, 'grade'> & { readonly inRange: number }>(
      `select id as channel, value, at_ms as atMs, received_ms as receivedMs, device_ms as deviceMs, in_range as inRange
       from reading join channel on number = channel
       where channel = ? and live = 1 and received_ms < ? order by at_ms desc limit 1`,
    );
    return this.#database
      .prepare<[], { number: number }>('select number from channel')
      .all()
      .flatMap(({ number }) => newest.get(number, beforeMs) ?? [])
      .map(({ inRange, ...reading }): Reading => ({ ...reading, grade: inRange === 1 ? 'good' : 'out-of-range' }))
      .sort((one, other) => one.atMs - other.atMs);
  }

  /** The newest packets, oldest first. */
  latest(count: number): PastPacket[] {
    return this.#packets(Math.max(0, this.newest - count), count);
  }

  /** Skips packets, but no entries or restarts. */
  skipTo(packet: number): void {
    this.#packet = Math.max(this.#packet, packet - 1);
  }

  close(): void {
    this.#database.close();
  }

  #read(): PastEvent[] {
    const packets = this.#packets(this.#packet, PAGE);
    const last = packets.length < PAGE ? Number.MAX_SAFE_INTEGER : packets.at(-1)!.number;
    const entries = this.#database.prepare<[number, number], EntryRow>(ENTRIES).all(this.#entry, last);
    const restarts = this.#has.restarts
      ? this.#database.prepare<[number, number], RestartRow>(RESTARTS).all(this.#restart, last)
      : [];
    this.#packet = packets.at(-1)?.number ?? this.#packet;
    this.#entry = entries.at(-1)?.number ?? this.#entry;
    this.#restart = restarts.at(-1)?.number ?? this.#restart;
    const events: PastEvent[] = [
      ...packets,
      ...entries.map(({ body, ...row }) => ({ kind: 'entry' as const, ...row, entry: JSON.parse(body) as Entry })),
      ...restarts.map((row) => ({ kind: 'restart' as const, ...row })),
    ];
    return events.sort((one, other) => placeOf(one) - placeOf(other) || timeOf(one) - timeOf(other));
  }

  #packets(after: number, count: number): PastPacket[] {
    return this.#database
      .prepare<[number, number], PacketRow>(packetsWith(this.#has.messageIds ? 'message_id' : 'null'))
      .all(after, count)
      .map((row) => ({ ...row, kind: 'packet' as const, retained: row.retained === 1 }));
  }
}

function placeOf(event: PastEvent): number {
  return event.kind === 'packet' ? event.number : event.afterPacket;
}

/** A packet comes before what came after it. */
function timeOf(event: PastEvent): number {
  return event.kind === 'packet' ? -Infinity : event.atMs;
}
