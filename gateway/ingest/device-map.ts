/**
 * Which sensor place a record feeds: as the layout says, or as somebody has assigned since.
 *
 * In: the device of the topic and the resolved SenML name; assignments by people. Out: the sensor, or null; and what was put in
 * whose place. The record is the last part of the name, after the last ':' or '/', so that a device may use any base name it likes.
 * A place keeps its name and its history, whoever measures there.
 */
import type { Layout, Sensor } from '../../config/layout.ts';
import type { AssignedPicture } from '../../config/wire.ts';

export class DeviceMap {
  /** Devices of the layout, in its order. */
  readonly devices: readonly string[];
  readonly #sensors = new Map<string, Sensor>();
  readonly #replaced = new Map<string, string>();
  readonly #assigned = new Map<string, AssignedPicture>();

  constructor(layout: Layout) {
    for (const sensor of layout.sensors) this.#sensors.set(key(sensor.device, sensor.record), sensor);
    this.devices = [...new Set(layout.sensors.map(({ device }) => device))];
  }

  find(device: string, name: string): Sensor | null {
    return this.#sensors.get(key(device, recordOf(name))) ?? null;
  }

  /** Who measures now where this record did; null: nobody was put in its place. */
  replacedBy(device: string, name: string): string | null {
    return this.#replaced.get(key(device, recordOf(name))) ?? null;
  }

  assign(sensor: Sensor, { device, record, by }: Pick<AssignedPicture, 'device' | 'record' | 'by'>, atMs: number): void {
    const fresh = key(device, record);
    for (const [old, fed] of this.#sensors) {
      if (fed !== sensor) continue;
      this.#sensors.delete(old);
      this.#replaced.set(old, device);
    }
    this.#replaced.delete(fresh);
    this.#sensors.set(fresh, sensor);
    this.#assigned.set(sensor.id, { sensor: sensor.id, device, record, by, atMs });
  }

  get assigned(): readonly AssignedPicture[] {
    return [...this.#assigned.values()];
  }
}

export function recordOf(name: string): string {
  return name.slice(Math.max(name.lastIndexOf(':'), name.lastIndexOf('/')) + 1);
}

/** Neither a level of a topic nor a record holds a zero byte. */
function key(device: string, record: string): string {
  return `${device}\u0000${record}`;
}
