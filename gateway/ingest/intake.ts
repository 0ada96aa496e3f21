/**
 * What one MQTT packet means: readings in SI, a device's status, a simulation's beat, or a counted refusal.
 *
 * In: packets in order of arrival with the run's time of receipt. Out: readings to journal, marked live when they are
 * newer than what their channel had (a late one is filed, but never shown to the watch out of order), and the feed's
 * own state for the screen. Everything kept here is bounded: strangers can neither fill the memory nor the screen.
 */
import type { Layout, Sensor } from '../../config/layout/layout.ts';
import { mappingsFor, type Mapping } from '../../config/mapping/mapping.ts';
import type { FeedPicture, StrangerPicture } from '../../config/wire/feed.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Picture } from '../../config/wire/wire.ts';
import type { Reading } from '../core/telemetry/reading.ts';
import { DeviceBook } from './devices/device-book.ts';
import { DeviceMap, recordOf } from './devices/device-map.ts';
import { readBeat, readStatus, saysSimulated } from './payloads/house-message.ts';
import { readMapped, type DevicePack } from './payloads/mapped-payload.ts';
import { refusal, RefusalTally, type Refusal } from './refusal.ts';
import type { Beat } from './devices/run-clock.ts';
import { readSenml, type SenmlRecord } from './payloads/senml.ts';
import { fullScale, toSi } from './payloads/senml-unit.ts';
import { Sparkplug } from './payloads/sparkplug.ts';
import { Tares } from './devices/tares.ts';
import { saidMs, type ClockRepair } from './devices/time-repair.ts';
import { isOfAnotherSite, nearestTopic, type RightTopics } from './transport/topic-hint.ts';
import { shownPayload, Tray } from './devices/unknown-devices.ts';

export interface Packet extends Undated {
  /** On the run's clock. */
  readonly receivedMs: number;
  /** Refused at the door: it is counted, and nothing in it is believed. */
  readonly refused?: Refusal | null;
  /** The account that sent it, where there are accounts. */
  readonly account?: string;
}

interface Undated {
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly retained: boolean;
}

export interface FiledReading extends Reading {
  /** Newer than anything its channel had: the watch may see it. */
  readonly live: boolean;
  /** Its device gave a date that can be believed: the same bytes can only be the same packet. */
  readonly dated: boolean;
}

export interface Taken {
  /** For the journal: 'readings', 'status', 'beat', 'unknown-device', or the refusals' codes. */
  readonly verdict: string;
  readonly readings: readonly FiledReading[];
  /** Channels whose device says that it has no value, or has died: unknown at once, before their readings age. */
  readonly silenced: readonly string[];
  readonly beat: Beat | null;
}

const NOTHING_SAID = { readings: [], silenced: [], beat: null } as const;

export class Intake {
  readonly #layout: Layout;
  readonly #map: DeviceMap;
  readonly #fullScales: ReadonlyMap<string, number | null>;
  readonly #book: DeviceBook;
  readonly #tally = new RefusalTally();
  readonly #tray = new Tray();
  readonly #nodes = new Sparkplug();
  readonly #tares = new Tares();
  readonly #newestMs = new Map<string, number>();
  readonly #intervalMs: (channel: string) => number;
  readonly #right: RightTopics;
  readonly #simulationTopic: string;
  #clockSpeed = 1;

  constructor(layout: Layout) {
    this.#layout = layout;
    this.#map = new DeviceMap(layout);
    this.#right = { site: layout.site, devices: this.#map.devices };
    this.#simulationTopic = `wetdown/${layout.site}/simulation`;
    this.#fullScales = new Map(layout.sensors.map((sensor) => [sensor.id, fullScale(layout, sensor)]));
    const intervalsMs = new Map(layout.sensors.map((sensor) => [sensor.id, sensor.intervalS * 1_000]));
    this.#intervalMs = (channel) => intervalsMs.get(channel) ?? Infinity;
    this.#book = new DeviceBook(this.#map.devices);
  }

  /** A beat is read apart, because it may start a new run before anything else is done with the packet. */
  beatOf(packet: Undated): Beat | null {
    return packet.retained || packet.topic !== this.#simulationTopic ? null : readBeat(packet.payload);
  }

  /** Simulated devices say so in every pack and status; a beat is simulated by what it is. */
  isSimulated({ topic, payload }: Undated): boolean {
    if (topic === this.#simulationTopic) return readBeat(payload) !== null;
    if (topic.endsWith('/status')) return saysSimulated(payload);
    if (!topic.endsWith('/senml')) return false;
    const bytes = Buffer.from(payload.buffer, payload.byteOffset, payload.byteLength);
    // In JSON any letter may be written as \u0073.
    return (bytes.includes('simulated') || bytes.includes('\\u')) && readSenml(payload).simulated;
  }

  /** What is no concern of this gateway: a simulator's own orders; on a broker of many sites, what others say. */
  isElsewhere(topic: string, shared: boolean): boolean {
    if (topic.startsWith(`${this.#simulationTopic}/`)) return true;
    return shared && isOfAnotherSite(topic, this.#right, (device) => this.#book.isHeard(device));
  }

  take(packet: Packet, clockSpeed: number): Taken {
    this.#clockSpeed = clockSpeed;
    const [root, site, device, leaf, ...rest] = packet.topic.split('/');
    if (packet.refused) return this.#refuseAtTheDoor(packet, packet.refused, device);
    if (root !== 'wetdown') return this.#mapped(packet);
    if (site !== this.#layout.site || device === undefined || rest.length > 0) return this.#refuseTopic(packet);
    if (device === 'simulation' && leaf === undefined) return this.#beat(packet);
    if (leaf === 'status') return this.#status(device, packet);
    if (leaf !== 'senml') return this.#refuseTopic(packet);
    return this.#file([{ device, ...readSenml(packet.payload) }], packet);
  }

  devicesAt(nowMs: number): FeedPicture['devices'] {
    return this.#book.picture(nowMs, this.#clockSpeed);
  }

  get rejected(): FeedPicture['rejected'] {
    return this.#tally.picture;
  }

  get unknownDevices(): FeedPicture['unknownDevices'] {
    return this.#tray.picture;
  }

  get assigned(): FeedPicture['assigned'] {
    return this.#map.assigned;
  }

  get tares(): FeedPicture['tares'] {
    return this.#tares.picture;
  }

  /**
   * Why an entry about devices cannot be taken, in a sentence; null: it can, or it is about something else. `picture`:
   * the newest.
   */
  objection(entry: Entry, picture: Picture | null): string | null {
    if (entry.kind !== 'assign' && entry.kind !== 'tare') return null;
    const sensor = this.#layout.sensors.find(({ id }) => id === entry.sensor);
    if (!sensor)
      return (
        `There is no sensor '${entry.sensor}' in this layout. Sensors here: ` +
        `${this.#layout.sensors.map(({ id }) => id).join(', ')}.`
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
        ? this.#layout.sensors.find(({ id }) => id === entry.sensor)
        : undefined;
    if (!sensor) return entry;
    if (entry.kind === 'tare') return { ...entry, offsetPa: this.#tares.take(sensor, entry.by, atMs, entry.offsetPa) };
    if (entry.kind !== 'assign') return entry;
    this.#map.assign(sensor, entry, atMs);
    this.#book.add(entry.device);
    this.#tray.remove(entry.device, entry.record);
    this.#tares.forget(sensor);
    // Its clock is another one: what it says first need not be later than what the old device said last.
    this.#newestMs.delete(sensor.id);
    return entry;
  }

  /** Several mappings may read one topic, each a kind of message: where one found something, the others need not. */
  #mapped(packet: Packet): Taken {
    const mappings = mappingsFor(this.#layout.mappings, packet.topic);
    if (mappings.length === 0) return this.#refuseTopic(packet);
    const nodes = mappings.filter(({ payload }) => payload === 'sparkplug');
    if (nodes.length > 0) return this.#sparkplug(nodes, packet);
    const packs = mappings.map((mapping) => readMapped(mapping, packet.topic, packet.payload));
    const told = packs.filter(
      (pack) => pack.records.length > 0 || pack.refused.some(({ reason }) => reason !== 'ingest/nothing-mapped'),
    );
    return this.#file(told.length > 0 ? told : packs.slice(0, 1), packet);
  }

  #sparkplug(mappings: readonly Mapping[], packet: Packet): Taken {
    const news = this.#nodes.take(packet.topic, packet.payload, packet.retained, mappings);
    for (const { device, online } of news.lives) this.#book.said(device, online);
    const silenced = news.silenced.flatMap(({ device, record }) => this.#map.find(device, record)?.id ?? []);
    return { ...this.#file(news.packs, packet), silenced };
  }

  #file(packs: readonly DevicePack[], packet: Packet): Taken {
    for (const device of new Set(packs.map((pack) => pack.device)))
      this.#book.heard(device, packet.receivedMs, packet.retained);
    const filed = packs.map((pack) => this.#fileOne(pack, packet));
    const [only] = filed;
    const readings = filed.length === 1 && only ? only.readings : filed.flatMap((one) => one.readings);
    const refused = filed.length === 1 && only ? only.refused : filed.flatMap((one) => one.refused);
    if (refused.length > 0) return { ...this.#refuse(packet, refused), readings };
    const strange = readings.length === 0 && filed.some((one) => one.strange);
    return { verdict: strange ? 'unknown-device' : 'readings', ...NOTHING_SAID, readings };
  }

  #fileOne(
    { device, records, refused: spoilt }: DevicePack,
    packet: Packet,
  ): { readonly readings: FiledReading[]; readonly refused: Refusal[]; readonly strange: boolean } {
    const known = this.#book.knows(device);
    const clock = this.#book.repairOf(device);
    if (!packet.retained) this.#hearClock(clock, device, records, packet.receivedMs);
    const readings: FiledReading[] = [];
    const refused: Refusal[] = [...spoilt];
    const strangers: Pick<StrangerPicture, 'record' | 'unit' | 'fits'>[] = [];
    for (const record of records) {
      const name = recordOf(record.name);
      const reading = this.#reading(device, record, packet, clock);
      const isBattery = reading === null && name === 'battery';
      const told = isBattery && known ? this.#book.battery(device, record.value, record.unit) : reading;
      if (told !== null && 'reason' in told) refused.push(told);
      else if (told !== null) readings.push(told);
      // What was replaced stays at hand too, so that its place can be given back.
      const placeless =
        (reading === null && !isBattery) ||
        (reading !== null && 'reason' in reading && reading.reason === 'ingest/replaced');
      if (placeless) strangers.push({ record: name, unit: record.unit, fits: this.#placesFor(record) });
    }
    if (device !== '' && (strangers.length > 0 || !known)) this.#tray.put(device, strangers, packet);
    this.#book.took(device, readings, refused, this.#intervalMs);
    return { readings, refused, strange: strangers.length > 0 || (!known && spoilt.length === 0) };
  }

  /** Of a channel's readings that came together only the newest says anything of the clock. */
  #hearClock(clock: ClockRepair, device: string, records: readonly SenmlRecord[], receivedMs: number): void {
    const newest = new Map<string, number>();
    for (const { name, time, historical } of records) {
      if (historical === true || time.kind === 'none') continue;
      const sensor = this.#map.find(device, name);
      const deviceMs = sensor && saidMs(time, this.#clockSpeed);
      if (sensor && deviceMs !== null) newest.set(sensor.id, Math.max(deviceMs, newest.get(sensor.id) ?? -Infinity));
    }
    for (const [channel, deviceMs] of newest) clock.hear(channel, deviceMs, receivedMs, this.#clockSpeed);
  }

  #placesFor({ value, unit }: SenmlRecord): string[] {
    if (typeof value !== 'number') return [];
    const takes = (sensor: Sensor): boolean =>
      typeof toSi(0.5, unit, sensor.quantity, this.#fullScales.get(sensor.id) ?? null) === 'number';
    return this.#layout.sensors.filter(takes).map(({ id }) => id);
  }

  /** Null: no sensor of the layout answers to this record. */
  #reading(device: string, record: SenmlRecord, packet: Packet, clock: ClockRepair): FiledReading | Refusal | null {
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
    const placed = clock.place(record.time, packet.receivedMs, packet.retained, this.#clockSpeed);
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
      receivedMs: packet.receivedMs,
      grade,
      live,
      dated: placed.dated,
    };
    return sensor.quantity === 'pressure' ? this.#tares.correct(reading) : reading;
  }

  #beat(packet: Packet): Taken {
    const beat = readBeat(packet.payload);
    if (beat === null) return this.#refuse(packet, [refusal('ingest/bad-beat', shownPayload(packet.payload))]);
    return { verdict: 'beat', ...NOTHING_SAID, beat: packet.retained ? null : beat };
  }

  #status(device: string, packet: Packet): Taken {
    const online = readStatus(packet.payload);
    if (online === null) return this.#refuse(packet, [refusal('ingest/bad-status', shownPayload(packet.payload))]);
    this.#book.said(device, online);
    return { verdict: this.#book.knows(device) ? 'status' : 'unknown-device', ...NOTHING_SAID };
  }

  #refuseTopic(packet: Packet): Taken {
    const hint = this.#hintFor(packet);
    const words = hint === null ? `not heard here, where '${this.#layout.site}' is watched` : `did you mean '${hint}'?`;
    return this.#refuse(packet, [refusal('ingest/bad-topic', words)], hint);
  }

  #refuseAtTheDoor(packet: Packet, refused: Refusal, device = ''): Taken {
    const sender = packet.account ?? device;
    this.#book.took(sender, [], [refused], this.#intervalMs);
    return this.#refuse(packet, [refused], refused.reason === 'ingest/not-allowed' ? this.#hintFor(packet) : null);
  }

  /** An account may be a server's that speaks for many. */
  #hintFor({ topic, account = '' }: Packet): string | null {
    return nearestTopic(topic, this.#right, this.#map.devices.includes(account) ? account : null);
  }

  #refuse(packet: Packet, refused: readonly Refusal[], hint: string | null = null): Taken {
    this.#tally.count(refused, packet.topic, packet.receivedMs, hint);
    return { verdict: [...new Set(refused.map(({ reason }) => reason))].join(' '), ...NOTHING_SAID };
  }
}
