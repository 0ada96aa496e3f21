/**
 * Reads the fixed headers of an MQTT stream as it passes, and cuts it when a packet is larger than allowed.
 *
 * The embedded broker has no limit of its own: it would gather a packet of 256 MB in memory before anyone looked at it.
 * In: bytes from one client. Out: the same bytes, or an error. Source: MQTT 3.1.1 (OASIS 2014), section 2.2: one byte
 * of type and flags, then the remaining length in one to four bytes of seven bits each, lowest first.
 */
import { Transform, type TransformCallback } from 'node:stream';

/** Before its CONNECT packet is through, nobody needs more than this. */
const FIRST_PACKET_MAX = 16_384;

export class PacketGuard extends Transform {
  readonly #packetMax: number;
  #first = true;
  /** Bytes of the current packet's body that are still to come. */
  #bodyLeft = 0;
  /** -1: the type byte is next; else how many length bytes were read. */
  #lengthBytes = -1;
  #length = 0;

  constructor(packetMax: number) {
    super();
    this.#packetMax = packetMax;
  }

  override _transform(chunk: Buffer, _encoding: BufferEncoding, done: TransformCallback): void {
    let at = 0;
    while (at < chunk.length) {
      if (this.#bodyLeft > 0) {
        const step = Math.min(this.#bodyLeft, chunk.length - at);
        this.#bodyLeft -= step;
        at += step;
        continue;
      }
      const fault = this.#header(chunk[at] ?? 0);
      at += 1;
      if (fault) {
        done(new Error(fault));
        return;
      }
    }
    done(null, chunk);
  }

  #header(byte: number): string | null {
    if (this.#lengthBytes < 0) {
      this.#lengthBytes = 0;
      this.#length = 0;
      return null;
    }
    this.#length += (byte & 0x7f) * 128 ** this.#lengthBytes;
    this.#lengthBytes += 1;
    if (byte & 0x80) return this.#lengthBytes < 4 ? null : 'malformed length of an MQTT packet';
    const max = this.#first ? FIRST_PACKET_MAX : this.#packetMax;
    if (this.#length > max) return `an MQTT packet of ${this.#length} bytes, at most ${max} are taken`;
    this.#bodyLeft = this.#length;
    this.#lengthBytes = -1;
    this.#first = false;
    return null;
  }
}
