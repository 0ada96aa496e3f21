/**
 * Which sensor place a record feeds: as the layout says, or as somebody has assigned since.
 *
 * In: the device of the topic and the resolved SenML name; assignments by people. Out: the sensor, or null; and what
 * was put in whose place. The record is the last part of the name, after the last ':' or '/', so that a device may use
 * any base name it likes. A place keeps its name and its history, whoever measures there.
 */
import type { Layout, Sensor } from '../../../config/layout/layout.ts';
import type { AssignedPicture } from '../../../config/wire/feed.ts';

export class DeviceMap {
  /** Devices of the layout, in its order. */
  readonly devices: readonly string[];
  /** By device and record. */
  readonly #sensors = new Map<string, Map<string, Sensor>>();
  readonly #heirs = new Map<string, Map<string, string>>();
  readonly #assigned = new Map<string, AssignedPicture>();

  constructor(layout: Layout) {
    for (const sensor of layout.sensors) put(this.#sensors, sensor.device, sensor.record, sensor);
    this.devices = [...this.#sensors.keys()];
  }

  find(device: string, name: string): Sensor | null {
    return this.#sensors.get(device)?.get(recordOf(name)) ?? null;
  }

  /** Who measures now where this record did; null: nobody was put in its place. */
  replacedBy(device: string, name: string): string | null {
    return this.#heirs.get(device)?.get(recordOf(name)) ?? null;
  }

  assign(
    sensor: Sensor,
    { device, record, by }: Pick<AssignedPicture, 'device' | 'record' | 'by'>,
    atMs: number,
  ): void {
    for (const [old, records] of this.#sensors)
      for (const [oldRecord, fed] of records) {
        if (fed !== sensor) continue;
        records.delete(oldRecord);
        put(this.#heirs, old, oldRecord, device);
      }
    this.#heirs.get(device)?.delete(record);
    put(this.#sensors, device, record, sensor);
    this.#assigned.set(sensor.id, { sensor: sensor.id, device, record, by, atMs });
  }

  get assigned(): readonly AssignedPicture[] {
    return [...this.#assigned.values()];
  }
}

export function recordOf(name: string): string {
  return name.slice(Math.max(name.lastIndexOf(':'), name.lastIndexOf('/')) + 1);
}

function put<Item>(book: Map<string, Map<string, Item>>, device: string, record: string, item: Item): void {
  const records = book.get(device) ?? new Map<string, Item>();
  book.set(device, records.set(record, item));
}
