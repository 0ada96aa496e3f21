/**
 * What arrives: a packet is taken in once, filed and handed on, whichever way and however often it comes.
 *
 * In: packets in their order, the run that is on. Out: rows in the journal, which acknowledges them once they are on
 * disk; readings and silences for the core. A packet that is known already adds nothing and is acknowledged with the
 * next commit. One that found no room is neither remembered nor acknowledged, so that its sender sends it again.
 */
import type { FeedPicture } from '../../config/wire/feed.ts';
import { Duplicates } from '../ingest/devices/duplicates.ts';
import type { Taken } from '../ingest/intake.ts';
import { refusedThen, type Refusal } from '../ingest/refusal.ts';
import type { SourcePacket } from '../ingest/transport/mqtt-source.ts';
import { ParallelConnection, type Hearing } from '../ingest/transport/parallel-connection.ts';
import type { History } from '../journal/history.ts';
import type { Run } from './run.ts';

/** Judgement. */
const REFUSED_BYTES = 1_024;
/** Judgement: what brokers and devices have on their way is tens to some thousands. */
const RECENT_PACKETS = 20_000;

/** When a packet came: by the run's clock and by the wall's, ms. */
export interface ReceivedAt {
  readonly receivedMs: number;
  readonly wallMs: number;
}

/** What came of a packet that is new. */
export interface Filed extends Taken {
  /** Of the packet in this run; null: there was no room for it. */
  readonly number: number | null;
}

export class Arrivals {
  readonly #duplicates = new Duplicates();
  readonly #along = new ParallelConnection();

  /** As rows of what was not taken. */
  get told(): FeedPicture['rejected'] {
    return this.#duplicates.told;
  }

  /** The other connection has brought it. */
  isTwin(source: SourcePacket, wallMs: number): boolean {
    return !this.#duplicates.isAgain(source) && this.#along.isTwin(source, wallMs);
  }

  /** It is counted, and acknowledged with its first copy. */
  fileTwin({ topic, acknowledge }: SourcePacket, { journal }: Run, nowMs: number): void {
    this.#duplicates.count(topic, nowMs);
    journal.acknowledgeWithNext(acknowledge ?? null);
  }

  /** Null: it had come before. `refused`: why it is not to be taken; null: it is. */
  file(
    source: SourcePacket,
    refused: Refusal | null,
    { intake, journal }: Run,
    { receivedMs, wallMs }: ReceivedAt,
    speed: number,
  ): Filed | null {
    const { topic, retained, messageId, acknowledge } = source;
    const taken = intake.take({ ...source, receivedMs, refused }, speed);
    if (this.#duplicates.isOne(source, isToldByContent(source, taken), receivedMs)) {
      journal.acknowledgeWithNext(acknowledge ?? null);
      return null;
    }
    const payload = keptOf(source.payload, taken);
    const number = journal.packet(
      { topic, payload, retained, messageId, receivedMs, receivedWallMs: wallMs, verdict: taken.verdict },
      acknowledge,
    );
    if (number !== null) this.#along.note(source, wallMs);
    else this.#duplicates.forget(source);
    return { ...taken, number };
  }

  /** What a packet says, to the journal, to the raw values and to the core. */
  handOn({ silenced, readings, number }: Filed, { raw, core, journal, rebuild }: Run, receivedMs: number): void {
    for (const channel of silenced) {
      raw.silence(channel);
      core.silence(channel, receivedMs);
    }
    for (const reading of readings) {
      if (number !== null) journal.reading(reading, reading.live, number);
      if (!reading.live) continue;
      raw.take(reading);
      if (!rebuild) core.take(reading, receivedMs);
    }
  }

  /** After a restart: what was known of single packets is there at once. */
  recall(history: History, { intake, raw }: Pick<Run, 'intake' | 'raw'>): void {
    for (const { messageId, ...packet } of history.latest(RECENT_PACKETS)) {
      const taken = intake.take({ ...packet, refused: refusedThen(packet.verdict) }, 1);
      const delivery = { ...packet, ...(messageId === null ? {} : { messageId }) };
      this.#duplicates.isOne(delivery, isToldByContent(packet, taken), packet.receivedMs);
      for (const reading of taken.readings) if (reading.live) raw.take(reading);
    }
  }

  /** What was not acknowledged will come again, and is the first then. */
  forget(): void {
    this.#duplicates.forgetAll();
    this.#along.forget();
  }

  hearing(diskFails: boolean, connected: boolean, wallMs: number): Hearing {
    return this.#along.choose(diskFails, connected, wallMs);
  }
}

/** Of what was refused whole, enough to see why: strangers shall not fill the disk. */
function keptOf(payload: Uint8Array, { readings, verdict }: Taken): Uint8Array {
  return readings.length === 0 && verdict.startsWith('ingest/') ? payload.subarray(0, REFUSED_BYTES) : payload;
}

/** All its readings were dated by their device; or it is a status that the broker keeps. */
function isToldByContent({ retained }: Pick<SourcePacket, 'retained'>, { readings, verdict }: Taken): boolean {
  if (retained && verdict === 'status') return true;
  return readings.length > 0 && readings.every(({ dated }) => dated);
}
