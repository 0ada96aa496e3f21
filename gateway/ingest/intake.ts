/**
 * What one MQTT packet means: readings in SI, a device's status, a simulation's beat, or a counted refusal.
 *
 * In: packets in order of arrival with the run's time of receipt. Out: readings to journal, marked live when they are
 * newer than what their channel had (a late one is filed, but never shown to the watch out of order), and the feed's
 * own state for the screen. Everything kept here is bounded: strangers can neither fill the memory nor the screen.
 */
import type { Layout } from '../../config/layout/layout.ts';
import { mappingsFor, type Mapping } from '../../config/mapping/mapping.ts';
import type { FeedPicture, StrangerPicture } from '../../config/wire/feed.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { DeviceBook } from './devices/device-book.ts';
import { recordOf } from './devices/device-map.ts';
import { readBeat, readStatus, saysSimulated, type Beat } from './payloads/house-message.ts';
import { readMapped, type DevicePack } from './payloads/mapped-payload.ts';
import { Places, type FiledReading } from './places.ts';
import { refusal, RefusalTally, shownPayload, type Refusal } from './refusal.ts';
import { readSenml, type SenmlRecord } from './payloads/senml.ts';
import { Sparkplug } from './payloads/sparkplug.ts';
import { saidMs, type ClockRepair } from './devices/time-repair.ts';
import { isOfAnotherSite, nearestTopic, type RightTopics } from './transport/topic-hint.ts';

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
  readonly #places: Places;
  readonly #book: DeviceBook;
  readonly #tally = new RefusalTally();
  readonly #nodes = new Sparkplug();
  readonly #intervalMs: (channel: string) => number;
  readonly #right: RightTopics;
  readonly #simulationTopic: string;
  #clockSpeed = 1;

  constructor(layout: Layout) {
    this.#layout = layout;
    this.#places = new Places(layout);
    this.#right = { site: layout.site, devices: this.#places.devices };
    this.#simulationTopic = `wetdown/${layout.site}/simulation`;
    const intervalsMs = new Map(layout.sensors.map((sensor) => [sensor.id, sensor.intervalS * 1_000]));
    this.#intervalMs = (channel) => intervalsMs.get(channel) ?? Infinity;
    this.#book = new DeviceBook(this.#places.devices);
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
    return this.#places.unknownDevices;
  }

  get assigned(): FeedPicture['assigned'] {
    return this.#places.assigned;
  }

  get tares(): FeedPicture['tares'] {
    return this.#places.tares;
  }

  /**
   * Why an entry about devices cannot be taken, in a sentence; null: it can, or it is about something else. `picture`:
   * the newest.
   */
  objection(entry: Entry, picture: Picture | null): string | null {
    return this.#places.objection(entry, picture);
  }

  /** Does what an entry asks for; `objection` has been asked before. Returns it as it is to be written down. */
  heed(entry: Entry, atMs: number): Entry {
    if (entry.kind === 'assign' && this.#places.has(entry.sensor)) this.#book.add(entry.device);
    return this.#places.heed(entry, atMs);
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
    const silenced = news.silenced.flatMap(({ device, record }) => this.#places.sensorOf(device, record)?.id ?? []);
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
    const heard = { receivedMs: packet.receivedMs, retained: packet.retained, clockSpeed: this.#clockSpeed };
    const readings: FiledReading[] = [];
    const refused: Refusal[] = [...spoilt];
    const strangers: Pick<StrangerPicture, 'record' | 'unit' | 'fits'>[] = [];
    for (const record of records) {
      const name = recordOf(record.name);
      const reading = this.#places.reading(device, record, heard, clock);
      const isBattery = reading === null && name === 'battery';
      const told = isBattery && known ? this.#book.battery(device, record.value, record.unit) : reading;
      if (told !== null && 'reason' in told) refused.push(told);
      else if (told !== null) readings.push(told);
      // What was replaced stays at hand too, so that its place can be given back.
      const placeless =
        (reading === null && !isBattery) ||
        (reading !== null && 'reason' in reading && reading.reason === 'ingest/replaced');
      if (placeless) strangers.push({ record: name, unit: record.unit, fits: this.#places.fitsOf(record) });
    }
    if (device !== '' && (strangers.length > 0 || !known)) this.#places.putAside(device, strangers, packet);
    this.#book.took(device, readings, refused, this.#intervalMs);
    return { readings, refused, strange: strangers.length > 0 || (!known && spoilt.length === 0) };
  }

  /** Of a channel's readings that came together only the newest says anything of the clock. */
  #hearClock(clock: ClockRepair, device: string, records: readonly SenmlRecord[], receivedMs: number): void {
    const newest = new Map<string, number>();
    for (const { name, time, historical } of records) {
      if (historical === true || time.kind === 'none') continue;
      const sensor = this.#places.sensorOf(device, name);
      const deviceMs = sensor && saidMs(time, this.#clockSpeed);
      if (sensor && deviceMs !== null) newest.set(sensor.id, Math.max(deviceMs, newest.get(sensor.id) ?? -Infinity));
    }
    for (const [channel, deviceMs] of newest) clock.hear(channel, deviceMs, receivedMs, this.#clockSpeed);
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
    return nearestTopic(topic, this.#right, this.#places.devices.includes(account) ? account : null);
  }

  #refuse(packet: Packet, refused: readonly Refusal[], hint: string | null = null): Taken {
    this.#tally.count(refused, packet.topic, packet.receivedMs, hint);
    return { verdict: [...new Set(refused.map(({ reason }) => reason))].join(' '), ...NOTHING_SAID };
  }
}
