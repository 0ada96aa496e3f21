/**
 * Devices that the layout does not know: each record with the last that it sent, until somebody assigns it to a place.
 *
 * Bounded: of more unknown devices than TRAY_MAX the one that was silent for longest is forgotten.
 */
import type { StrangerPicture } from '../../../config/wire/feed.ts';
import { printable, shownPayload } from '../refusal.ts';

/** Judgement: more strangers than this are not looked at one by one, nor are more records of one device. */
const TRAY_MAX = 40;
const RECORDS_A_DEVICE = 10;

interface Packet {
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly receivedMs: number;
}

export class Tray {
  readonly #strangers = new Map<string, StrangerPicture>();

  /** `records`: those that nobody knows; none: the packet as a whole is strange. */
  put(device: string, records: readonly Pick<StrangerPicture, 'record' | 'unit' | 'fits'>[], packet: Packet): void {
    const shown = records.slice(0, RECORDS_A_DEVICE);
    for (const { record, unit, fits } of shown.length > 0 ? shown : [{ record: null, unit: null, fits: [] }]) {
      const name = keyOf(device, record);
      if (!this.#strangers.has(name)) this.#makeRoom(device);
      this.#strangers.delete(name);
      this.#strangers.set(name, {
        device: printable(device),
        record: record === null ? null : printable(record),
        unit: unit === null ? null : printable(unit),
        fits,
        lastMs: packet.receivedMs,
        topic: printable(packet.topic),
        packet: shownPayload(packet.payload),
      });
    }
  }

  /** One device that invents names does not push the others out. */
  #makeRoom(device: string): void {
    const names = [...this.#strangers.keys()];
    const own = names.filter((name) => name.startsWith(`${device}\u0000`));
    if (own.length >= RECORDS_A_DEVICE) this.#strangers.delete(own[0]!);
    else if (names.length >= TRAY_MAX) this.#strangers.delete(names[0]!);
  }

  find(device: string, record: string): StrangerPicture | null {
    return this.#strangers.get(keyOf(device, record)) ?? null;
  }

  remove(device: string, record: string): void {
    this.#strangers.delete(keyOf(device, record));
  }

  get picture(): readonly StrangerPicture[] {
    return [...this.#strangers.values()];
  }
}

function keyOf(device: string, record: string | null): string {
  return `${device}\u0000${record ?? ''}`;
}
