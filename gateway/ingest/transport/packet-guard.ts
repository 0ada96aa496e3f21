/**
 * Reads the fixed headers of an MQTT stream as it passes, and lets only the beginning of an oversize PUBLISH go on.
 *
 * The embedded broker would gather a packet of 256 MB in memory first. Cutting the sender off is no answer: at QoS 1
 * it sends the same packet first when it is back. So the rest is dropped, and the packet is acknowledged in its order.
 * In: bytes of one client. Out: the same bytes, oversize packets as small ones that say so, or an error. Source: MQTT
 * 3.1.1 (OASIS 2014), sections 2.2 (type, flags, remaining length) and 3.3.2 (topic, packet identifier).
 */
import { randomBytes } from 'node:crypto';
import { Transform, type TransformCallback } from 'node:stream';

/** Before its CONNECT packet is through, nobody needs more than this. */
const FIRST_PACKET_MAX = 16_384;
const PUBLISH = 3;
/** Longest topic of a packet that is cut short. */
const TOPIC_MAX = 1_024;
/** Of its payload so much goes on. */
const KEPT_BYTES = 1_024;
/** No client can know it, so none can send a packet that passes for one that was cut short. */
const SEAL = randomBytes(16);
const SIZE_BYTES = 4;

/** A payload that was cut short: how large it was, and its beginning. Null: it is whole. */
export function cutShort(payload: Buffer): { readonly bytes: number; readonly beginning: Buffer } | null {
  if (payload.length < SEAL.length + SIZE_BYTES || !payload.subarray(0, SEAL.length).equals(SEAL)) return null;
  return { bytes: payload.readUInt32BE(SEAL.length), beginning: payload.subarray(SEAL.length + SIZE_BYTES) };
}

/** A packet that is too large: its beginning, until enough of it is there; then it goes on, and the rest is dropped. */
interface Large {
  readonly type: number;
  beginning: Buffer;
  told: boolean;
}

export class PacketGuard extends Transform {
  readonly #packetMax: number;
  #first = true;
  /** Bytes of the current packet's body that are still to come. */
  #bodyLeft = 0;
  /** The fixed header as far as it has come. */
  #header: number[] = [];
  #length = 0;
  #large: Large | null = null;

  constructor(packetMax: number) {
    super();
    this.#packetMax = packetMax;
  }

  override _transform(chunk: Buffer, _encoding: BufferEncoding, done: TransformCallback): void {
    let at = 0;
    /** From here on nothing of the chunk has gone on yet; null: it belongs to a packet that is too large. */
    let from = this.#large ? null : 0;
    /** Where the header begins that is being read; below 0 in the chunk before. */
    let headerAt = -this.#header.length;
    while (at < chunk.length) {
      if (this.#bodyLeft > 0) {
        const step = Math.min(this.#bodyLeft, chunk.length - at);
        const fault = this.#large && this.#gather(this.#large, chunk.subarray(at, at + step));
        this.#bodyLeft -= step;
        at += step;
        if (fault) {
          done(new Error(fault));
          return;
        }
        if (this.#bodyLeft === 0 && this.#large) {
          this.#large = null;
          from = at;
        }
        continue;
      }
      if (this.#header.length === 0) headerAt = at;
      const state = this.#read(chunk[at] ?? 0);
      at += 1;
      if (state === 'going-on') continue;
      if (state === 'whole') {
        if (headerAt < 0) this.push(Buffer.from(this.#header.slice(0, -headerAt)));
      } else if (state === 'large') {
        if (headerAt > (from ?? headerAt)) this.push(chunk.subarray(from ?? headerAt, headerAt));
        this.#large = { type: this.#header[0]!, beginning: Buffer.alloc(0), told: false };
        from = null;
      } else {
        done(new Error(state));
        return;
      }
      this.#header = [];
    }
    const end = this.#header.length > 0 ? Math.max(headerAt, 0) : at;
    if (from !== null && end > from) this.push(chunk.subarray(from, end));
    done();
  }

  /** One more byte of a fixed header; anything but the three states is a fault. */
  #read(byte: number): string {
    this.#header.push(byte);
    const lengthBytes = this.#header.length - 2;
    if (lengthBytes < 0) {
      this.#length = 0;
      return 'going-on';
    }
    this.#length += (byte & 0x7f) * 128 ** lengthBytes;
    if (byte & 0x80) return lengthBytes < 3 ? 'going-on' : 'malformed length of an MQTT packet';
    const max = this.#first ? FIRST_PACKET_MAX : this.#packetMax;
    const isLarge = this.#length > max;
    if (isLarge && (this.#first || this.#header[0]! >> 4 !== PUBLISH))
      return `an MQTT packet of ${this.#length} bytes, at most ${max} are taken`;
    this.#bodyLeft = this.#length;
    this.#first = false;
    return isLarge ? 'large' : 'whole';
  }

  #gather(large: Large, bytes: Buffer): string | null {
    if (large.told) return null;
    const enough = 2 + TOPIC_MAX + 2 + KEPT_BYTES;
    large.beginning = Buffer.concat([large.beginning, bytes.subarray(0, enough - large.beginning.length)]);
    if (large.beginning.length < enough && large.beginning.length < this.#length) return null;
    const topicEnd = 2 + large.beginning.readUInt16BE(0);
    if (topicEnd > 2 + TOPIC_MAX) return `a topic of ${topicEnd - 2} bytes, at most ${TOPIC_MAX} are taken`;
    const payloadAt = topicEnd + (large.type & 0b110 ? 2 : 0);
    if (payloadAt > this.#length) return 'malformed topic of an MQTT packet';
    const size = Buffer.alloc(SIZE_BYTES);
    size.writeUInt32BE(this.#length - payloadAt);
    const body = Buffer.concat([
      large.beginning.subarray(0, payloadAt),
      SEAL,
      size,
      large.beginning.subarray(payloadAt, payloadAt + KEPT_BYTES),
    ]);
    // A body of this size has a length of two bytes.
    this.push(Buffer.from([large.type, 0x80 | (body.length & 0x7f), body.length >> 7]));
    this.push(body);
    large.beginning = Buffer.alloc(0);
    large.told = true;
    return null;
  }
}
