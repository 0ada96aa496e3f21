/**
 * Which sensor of the layout a record belongs to.
 *
 * In: the device of the topic and the resolved SenML name. Out: the sensor, or null. The record is the last part of the
 * name, after the last ':' or '/', so that a device may use any base name it likes.
 */
import type { Layout, Sensor } from '../../config/layout.ts';

export class DeviceMap {
  /** Devices of the layout, in its order. */
  readonly devices: readonly string[];
  readonly #sensors = new Map<string, Map<string, Sensor>>();

  constructor(layout: Layout) {
    for (const sensor of layout.sensors) {
      const records = this.#sensors.get(sensor.device) ?? new Map<string, Sensor>();
      records.set(sensor.record, sensor);
      this.#sensors.set(sensor.device, records);
    }
    this.devices = [...this.#sensors.keys()];
  }

  knows(device: string): boolean {
    return this.#sensors.has(device);
  }

  find(device: string, name: string): Sensor | null {
    return this.#sensors.get(device)?.get(recordOf(name)) ?? null;
  }
}

export function recordOf(name: string): string {
  return name.slice(Math.max(name.lastIndexOf(':'), name.lastIndexOf('/')) + 1);
}
