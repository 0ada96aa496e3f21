/**
 * Which sensor of the layout each record of a device feeds, and what a record comes to there; what feeds none stands
 * aside with the places that would fit it.
 *
 * In: records with the time of receipt on the run's clock; entries that give a device a place, or a gauge its zero.
 * Out: readings in SI, live when newer than what their channel had; refusals; why an entry cannot be taken.
 */
import type { Layout, Sensor } from '../../config/layout/layout.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { Picture } from '../../config/wire/wire.ts';
import type { Reading } from '../core/telemetry/reading.ts';
import { DeviceMap, recordOf } from './devices/device-map.ts';
import { Tares } from './devices/tares.ts';
import type { ClockRepair } from './devices/time-repair.ts';
import { Tray } from './devices/unknown-devices.ts';
import { fullScale, toSi } from './payloads/senml-unit.ts';
import type { SenmlRecord } from './payloads/senml.ts';
import { refusal, type Refusal } from './refusal.ts';

export interface FiledReading extends Reading {
  /** Newer than anything its channel had: the watch may see it. */
  readonly live: boolean;
  /** Its device gave a date that can be believed: the same bytes can only be the same packet. */
  readonly dated: boolean;
}

/** How a packet came. */
export interface Heard {
  readonly receivedMs: number;
  readonly retained: boolean;
  readonly clockSpeed: number;
}

export class Places {
  readonly #sensors: readonly Sensor[];
  readonly #map: DeviceMap;
  readonly #fullScales: ReadonlyMap<string, number | null>;
  readonly #newestMs = new Map<string, number>();
  readonly #tares = new Tares();
  readonly #tray = new Tray();

  constructor(layout: Layout) {
    this.#sensors = layout.sensors;
    this.#map = new DeviceMap(layout);
    this.#fullScales = new Map(layout.sensors.map((sensor) => [sensor.id, fullScale(layout, sensor)]));
  }

  get devices(): readonly string[] {
    return this.#map.devices;
  }

  get assigned(): FeedPicture['assigned'] {
    return this.#map.assigned;
  }

  get tares(): FeedPicture['tares'] {
    return this.#tares.picture;
  }

  get unknownDevices(): FeedPicture['unknownDevices'] {
    return this.#tray.picture;
  }

  has(sensor: string): boolean {
    return this.#sensors.some(({ id }) => id === sensor);
  }

  sensorOf(device: string, record: string): Sensor | null {
    return this.#map.find(device, record);
  }

  /** What a device said that has no place here. */
  putAside(device: string, records: Parameters<Tray['put']>[1], packet: Parameters<Tray['put']>[2]): void {
    this.#tray.put(device, records, packet);
  }

  /**
   * Why an entry about devices cannot be taken, in a sentence; null: it can, or it is about something else. `picture`:
   * the newest.
   */
  objection(entry: Entry, picture: Picture | null): string | null {
    if (entry.kind !== 'assign' && entry.kind !== 'tare') return null;
    const sensor = this.#sensors.find(({ id }) => id === entry.sensor);
    if (!sensor)
      return (
        `There is no sensor '${entry.sensor}' in this layout. Sensors here: ` +
        `${this.#sensors.map(({ id }) => id).join(', ')}.`
      );
    if (entry.kind === 'tare') return this.#tares.objection(sensor, picture);
    const { device, record } = entry;
    const fed = this.#map.find(device, record);
    if (fed) return `'${record}' of '${device}' measures at '${fed.id}' already.`;
    const stranger = this.#tray.find(device, record);
    if (!stranger)
      return `'${record}' of '${device}' has not been heard lately: only what has sent a packet can be given a place.`;
    return stranger.fits.includes(sensor.id)
      ? null
      : `'${record}' of '${device}' does not measure ${sensor.quantity}: its unit is ` +
          `${stranger.unit === null ? 'not given' : `'${stranger.unit}'`}.`;
  }

  /** Does what an entry asks for; `objection` has been asked before. Returns it as it is to be written down. */
  heed(entry: Entry, atMs: number): Entry {
    const sensor =
      entry.kind === 'assign' || entry.kind === 'tare'
        ? this.#sensors.find(({ id }) => id === entry.sensor)
        : undefined;
    if (!sensor) return entry;
    if (entry.kind === 'tare') return { ...entry, offsetPa: this.#tares.take(sensor, entry.by, atMs, entry.offsetPa) };
    if (entry.kind !== 'assign') return entry;
    this.#map.assign(sensor, entry, atMs);
    this.#tray.remove(entry.device, entry.record);
    this.#tares.forget(sensor);
    // Its clock is another one: what it says first need not be later than what the old device said last.
    this.#newestMs.delete(sensor.id);
    return entry;
  }

  /** Null: no sensor of the layout answers to this record. */
  reading(device: string, record: SenmlRecord, heard: Heard, clock: ClockRepair): FiledReading | Refusal | null {
    const sensor = this.#map.find(device, record.name);
    if (!sensor) {
      const heir = this.#map.replacedBy(device, record.name);
      return heir === null
        ? null
        : refusal('ingest/replaced', `${recordOf(record.name)} of ${device}: ${heir} measures there now`);
    }
    if (typeof record.value !== 'number')
      return refusal('ingest/not-numeric', `${record.name} is ${typeof record.value}`);
    const measured = toSi(record.value, record.unit, sensor.quantity, this.#fullScales.get(sensor.id) ?? null);
    if (typeof measured !== 'number') return measured;
    if (!Number.isFinite(measured)) return refusal('ingest/not-a-number', record.name);
    const placed = clock.place(record.time, heard.receivedMs, heard.retained, heard.clockSpeed);
    if (!placed) return refusal('ingest/undated', `${record.name} came retained`);
    const live = record.historical !== true && placed.atMs > (this.#newestMs.get(sensor.id) ?? -Infinity);
    if (live) this.#newestMs.set(sensor.id, placed.atMs);
    // A pressure at the very end of its range is one that may be anything beyond it.
    const saturated = record.saturated === true || (sensor.quantity === 'pressure' && measured === sensor.max);
    const grade = measured >= sensor.min && measured <= sensor.max && !saturated ? 'good' : 'out-of-range';
    const reading: FiledReading = {
      channel: sensor.id,
      value: measured,
      atMs: placed.atMs,
      deviceMs: placed.deviceMs,
      receivedMs: heard.receivedMs,
      grade,
      live,
      dated: placed.dated,
    };
    return sensor.quantity === 'pressure' ? this.#tares.correct(reading) : reading;
  }

  /** Sensors of the layout that could be what such a record measures. */
  fitsOf({ value, unit }: SenmlRecord): string[] {
    if (typeof value !== 'number') return [];
    const takes = (sensor: Sensor): boolean =>
      typeof toSi(0.5, unit, sensor.quantity, this.#fullScales.get(sensor.id) ?? null) === 'number';
    return this.#sensors.filter(takes).map(({ id }) => id);
  }
}
