/**
 * Whether a packet has come before: redelivered by a broker or a device, retained and sent again on each connection.
 *
 * In: packets in order of arrival. Out: yes or no, and the count for the screen. Only some can be told by
 * their content: a pack whose readings are dated by the device, a retained status (the last one, sent again). An
 * undated packet is a duplicate if its sender says so (DUP, MQTT 3.1.1 section 3.3.1.1) and gave it the same number
 * before. Limit: an undated packet that comes again without DUP is filed twice; the last 100,000 packets at least are
 * remembered. What is older is still one reading, because readings are keyed by channel, time and value.
 */
import { hash } from 'node:crypto';
import type { FeedPicture } from '../../../config/wire/feed.ts';
import { printable } from '../refusal.ts';

export interface Delivery {
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly retained: boolean;
  /** The sender's number of a packet of QoS 1, and whether it says that it sends it again. */
  readonly messageId?: number;
  readonly again?: boolean;
  /** Came by the connection that only listens along. */
  readonly along?: true;
}

/** As many as wait in memory while the disk fails: what was not acknowledged may all come again. */
const WINDOW = 100_000;
const MESSAGE_IDS = 65_536;

export class Duplicates {
  /**
   * Digests of 48 bits; with a message's number, of 36 bits and negative. In two generations, the older dropped whole:
   * to find the oldest of a set costs more the more it has lost.
   */
  #seen = new Digests();
  #earlier = new Digests();
  #told: FeedPicture['rejected'][number] | null = null;

  /** By its sender's own word. */
  isAgain(packet: Delivery): boolean {
    const numbered = packet.again === true ? numberedKey(packet, digest(packet)) : null;
    return numbered !== null && this.#knows(numbered);
  }

  /** Remembers the packet. `byContent`: the same bytes can only be the same packet. */
  isOne(packet: Delivery, byContent: boolean, receivedMs: number): boolean {
    const content = digest(packet);
    const numbered = numberedKey(packet, content);
    const duplicate =
      (byContent && this.#knows(content)) || (packet.again === true && numbered !== null && this.#knows(numbered));
    this.#remember(content);
    if (numbered !== null) this.#remember(numbered);
    if (duplicate) this.count(packet.topic, receivedMs);
    return duplicate;
  }

  /** It could not be kept: when it comes again, it is the first. */
  forget(packet: Delivery): void {
    const content = digest(packet);
    for (const key of [content, numberedKey(packet, content)])
      if (key !== null) for (const known of [this.#seen, this.#earlier]) known.forget(key);
  }

  forgetAll(): void {
    this.#seen.clear();
    this.#earlier.clear();
  }

  /** As a row of what was not taken. */
  get told(): FeedPicture['rejected'] {
    return this.#told ? [this.#told] : [];
  }

  #knows(key: number): boolean {
    return this.#seen.has(key) || this.#earlier.has(key);
  }

  #remember(key: number): void {
    this.#seen.add(key);
    if (this.#seen.count < 2 * WINDOW) return;
    [this.#seen, this.#earlier] = [this.#earlier, this.#seen];
    this.#seen.clear();
  }

  /** One more that came again. */
  count(topic: string, receivedMs: number): void {
    const count = (this.#told?.count ?? 0) + 1;
    this.#told = {
      reason: 'ingest/duplicate',
      count,
      lastMs: receivedMs,
      topic: printable(topic),
      detail: 'came again and is stored once: nothing to be done',
    };
  }
}

/** A set in memory of a fixed size, with linear probing; at most two fifths full. */
class Digests {
  count = 0;
  /** 0: free; NaN: forgotten. */
  readonly #cells = new Float64Array(2 ** 19);

  has(key: number): boolean {
    return this.#cells[this.#cellOf(key)] === key;
  }

  add(key: number): void {
    const cell = this.#cellOf(key);
    if (this.#cells[cell] === key) return;
    this.#cells[cell] = key;
    this.count += 1;
  }

  forget(key: number): void {
    if (this.has(key)) this.#cells[this.#cellOf(key)] = NaN;
  }

  clear(): void {
    this.#cells.fill(0);
    this.count = 0;
  }

  #cellOf(key: number): number {
    let cell = Math.abs(key) % this.#cells.length;
    while (this.#cells[cell] !== 0 && this.#cells[cell] !== key) cell = (cell + 1) % this.#cells.length;
    return cell;
  }
}

function numberedKey({ messageId }: Delivery, content: number): number | null {
  return messageId === undefined ? null : -1 - messageId - MESSAGE_IDS * (content % 2 ** 36);
}

/** 48 bits. */
export function digest({ topic, payload }: Delivery): number {
  return hash('sha1', Buffer.concat([Buffer.from(`${topic}\n`), payload]), 'buffer').readUIntBE(0, 6);
}
