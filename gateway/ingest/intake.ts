/**
 * What one MQTT packet of the site means: readings in SI, a device's status, a simulation's beat, or a counted refusal.
 *
 * In: packets in order of arrival with the run's time of receipt. Out: readings to journal, marked live when they are newer
 * than what their channel had (a late one is filed, but never shown to the watch out of order), and the feed's own state
 * for the screen. Everything kept here is bounded: strangers can neither fill the memory nor the screen.
 */
import type { Layout } from '../../config/layout.ts';
import type { FeedPicture } from '../../config/wire.ts';
import type { Reading } from '../telemetry/reading.ts';
import { DeviceMap, recordOf } from './device-map.ts';
import { printable, REFUSALS, refusal, type Refusal } from './refusal.ts';
import type { Beat } from './run-clock.ts';
import { PACKET_BYTES_MAX, readSenml, type SenmlRecord } from './senml.ts';
import { fullScale, toSi } from './senml-unit.ts';
import { placeInTime } from './time-repair.ts';

export interface Packet {
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly retained: boolean;
  /** On the run's clock. */
  readonly receivedMs: number;
}

export interface FiledReading extends Reading {
  /** Newer than anything its channel had: the watch may see it. */
  readonly live: boolean;
}

export interface Taken {
  /** For the journal: 'readings', 'status', 'beat', 'unknown-device', or the refusals' codes. */
  readonly verdict: string;
  readonly readings: readonly FiledReading[];
  readonly beat: Beat | null;
}

type Tally = Map<string, FeedPicture['rejected'][number]>;
type Device = { online: boolean | null; lastMs: number | null; packets: number };

/** Judgement: more strangers than this are not looked at one by one. */
const TRAY_MAX = 40;
const SHOWN_CHARACTERS = 400;

export class Intake {
  readonly #layout: Layout;
  readonly #map: DeviceMap;
  readonly #fullScales: ReadonlyMap<string, number | null>;
  readonly #devices: Map<string, Device>;
  readonly #rejected: Tally = new Map();
  readonly #tray = new Map<string, FeedPicture['unknownDevices'][number]>();
  readonly #newestMs = new Map<string, number>();

  constructor(layout: Layout) {
    this.#layout = layout;
    this.#map = new DeviceMap(layout);
    this.#fullScales = new Map(layout.sensors.map((sensor) => [sensor.id, fullScale(layout, sensor)]));
    this.#devices = new Map(this.#map.devices.map((device) => [device, { online: null, lastMs: null, packets: 0 }]));
  }

  /** A beat is read apart, because it may start a new run before anything else is done with the packet. */
  beatOf(packet: Packet): Beat | null {
    if (packet.retained || packet.topic !== `wetdown/${this.#layout.site}/simulation`) return null;
    const beat = readBeat(packet.payload);
    return 'reason' in beat ? null : beat;
  }

  /** Simulated devices say so in every pack, as an extra member of its records. */
  isSimulated(packet: Packet): boolean {
    return packet.topic.endsWith('/senml') && Buffer.from(packet.payload).includes('simulated') && readSenml(packet.payload).simulated;
  }

  take(packet: Packet, clockSpeed: number): Taken {
    const [root, site, device, leaf, ...rest] = packet.topic.split('/');
    if (root !== 'wetdown' || site !== this.#layout.site || device === undefined || rest.length > 0) return this.#refuse(packet, [refusal('ingest/bad-topic', packet.topic)]);
    if (device === 'simulation' && leaf === undefined) return this.#beat(packet);
    if (leaf === 'status') return this.#status(device, packet);
    if (leaf !== 'senml') return this.#refuse(packet, [refusal('ingest/bad-topic', packet.topic)]);
    const known = this.#devices.get(device);
    if (known) {
      known.packets += 1;
      if (!packet.retained) known.lastMs = packet.receivedMs;
    }
    const pack = readSenml(packet.payload);
    const readings: FiledReading[] = [];
    const refused: Refusal[] = [...pack.refused];
    let strange = !known && pack.refused.length === 0;
    for (const record of known ? pack.records : []) {
      const reading = this.#reading(device, record, packet, clockSpeed);
      if (reading === null) strange = true;
      else if ('reason' in reading) refused.push(reading);
      else readings.push(reading);
      if (reading === null) this.#toTray(`${device} / ${recordOf(record.name)}`, packet);
    }
    if (!known) this.#toTray(device, packet);
    if (refused.length > 0) return { ...this.#refuse(packet, refused), readings };
    return { verdict: readings.length === 0 && strange ? 'unknown-device' : 'readings', readings, beat: null };
  }

  get devices(): FeedPicture['devices'] {
    return [...this.#devices].map(([device, state]) => ({ device, ...state }));
  }

  get rejected(): FeedPicture['rejected'] {
    return [...this.#rejected.values()];
  }

  get unknownDevices(): FeedPicture['unknownDevices'] {
    return [...this.#tray.values()];
  }

  /** Null: no sensor of the layout answers to this record. */
  #reading(device: string, record: SenmlRecord, packet: Packet, clockSpeed: number): FiledReading | Refusal | null {
    const sensor = this.#map.find(device, record.name);
    if (!sensor) return null;
    if (typeof record.value !== 'number') return refusal('ingest/not-numeric', `${record.name} is ${typeof record.value}`);
    const value = toSi(record.value, record.unit, sensor.quantity, this.#fullScales.get(sensor.id) ?? null);
    if (typeof value !== 'number') return value;
    if (!Number.isFinite(value)) return refusal('ingest/not-a-number', record.name);
    const placed = placeInTime(record.time, packet.receivedMs, packet.retained, clockSpeed);
    if (!placed) return refusal('ingest/undated', `${record.name} came retained`);
    const live = placed.atMs > (this.#newestMs.get(sensor.id) ?? -Infinity);
    if (live) this.#newestMs.set(sensor.id, placed.atMs);
    // A pressure at the very end of its range is one that may be anything beyond it.
    const saturated = sensor.quantity === 'pressure' && value === sensor.max;
    const grade = value >= sensor.min && value <= sensor.max && !saturated ? 'good' : 'out-of-range';
    return { channel: sensor.id, value, ...placed, receivedMs: packet.receivedMs, grade, live };
  }

  #beat(packet: Packet): Taken {
    const beat = readBeat(packet.payload);
    if ('reason' in beat) return this.#refuse(packet, [beat]);
    return { verdict: 'beat', readings: [], beat: packet.retained ? null : beat };
  }

  #status(device: string, packet: Packet): Taken {
    const online = readStatus(packet.payload);
    if (online === null) return this.#refuse(packet, [refusal('ingest/bad-status', text(packet.payload))]);
    const known = this.#devices.get(device);
    if (known) known.online = online;
    return { verdict: known ? 'status' : 'unknown-device', readings: [], beat: null };
  }

  #refuse(packet: Packet, refused: readonly Refusal[]): Taken {
    for (const { reason, detail } of refused) {
      const count = (this.#rejected.get(reason)?.count ?? 0) + 1;
      const words = `${detail}: ${REFUSALS[reason]}`;
      this.#rejected.set(reason, { reason, count, lastMs: packet.receivedMs, topic: printable(packet.topic, SHOWN_CHARACTERS), detail: words });
    }
    return { verdict: [...new Set(refused.map(({ reason }) => reason))].join(' '), readings: [], beat: null };
  }

  #toTray(device: string, packet: Packet): void {
    const name = printable(device, SHOWN_CHARACTERS);
    if (!this.#tray.has(name) && this.#tray.size >= TRAY_MAX) this.#tray.delete([...this.#tray.keys()][0] ?? '');
    this.#tray.delete(name);
    this.#tray.set(name, { device: name, lastMs: packet.receivedMs, topic: printable(packet.topic, SHOWN_CHARACTERS), packet: text(packet.payload) });
  }
}

function text(payload: Uint8Array): string {
  return printable(new TextDecoder().decode(payload.subarray(0, 4 * SHOWN_CHARACTERS)), SHOWN_CHARACTERS);
}

/** 'online' and 'offline', plain or as JSON text, or {"online": true}. */
function readStatus(payload: Uint8Array): boolean | null {
  const word = text(payload).trim();
  const status = word.startsWith('{') ? readJson(payload) : word.replaceAll('"', '');
  const online: unknown = typeof status === 'object' && status !== null && 'online' in status ? status.online : status;
  return online === true || online === 'online' ? true : online === false || online === 'offline' ? false : null;
}

function readJson(payload: Uint8Array): unknown {
  if (payload.byteLength > PACKET_BYTES_MAX) return null;
  try {
    return JSON.parse(new TextDecoder().decode(payload));
  } catch {
    return null;
  }
}

function readBeat(payload: Uint8Array): Beat | Refusal {
  const members = readJson(payload);
  if (typeof members !== 'object' || members === null) return refusal('ingest/bad-beat', text(payload));
  const timeMs: unknown = 'timeMs' in members ? members.timeMs : null;
  const speed: unknown = 'speed' in members ? members.speed : null;
  // Times outside 1970..2100 would only freeze the run's clock.
  if (typeof timeMs !== 'number' || !(timeMs > 0 && timeMs < 4.1e12)) return refusal('ingest/bad-beat', text(payload));
  if (speed !== null && (typeof speed !== 'number' || !(speed >= 0))) return refusal('ingest/bad-beat', text(payload));
  return { timeMs, speed: typeof speed === 'number' && Number.isFinite(speed) ? speed : null };
}
