/**
 * What was measured, and nothing that was concluded from it: between two pictures the newest values, and the picture
 * that is left when the core itself has failed.
 *
 * In: readings, and the last picture the core made. Out: values with their age; pictures whose states are all
 * 'unknown'. Alarms and notes stay as they were last known, because dropping them would look like all is well.
 */
import type { Layout } from '../config/layout.ts';
import type { ChannelNews, ChannelPicture, Picture } from '../config/wire.ts';
import { Channel } from './telemetry/channel.ts';
import type { Reading } from './telemetry/reading.ts';

export class RawTier {
  readonly #layout: Layout;
  readonly #channels: ReadonlyMap<string, Channel>;
  readonly #heard = new Set<string>();

  constructor(layout: Layout) {
    this.#layout = layout;
    this.#channels = new Map(layout.sensors.map((sensor) => [sensor.id, new Channel(sensor)]));
  }

  take(reading: Reading): void {
    this.#channels.get(reading.channel)?.take(reading);
    this.#heard.add(reading.channel);
  }

  silence(channel: string): void {
    this.#channels.get(channel)?.silence();
  }

  /** Channels heard since this was asked last, as they are now. */
  news(nowMs: number): ChannelNews[] {
    const news = [...this.#heard].map((id) => {
      const { channel, value, atMs, freshness, doubt } = this.#channel(id, nowMs);
      return { channel, value, atMs, freshness, doubt };
    });
    this.#heard.clear();
    return news;
  }

  picture(nowMs: number, sinceMs: number, why: string, last: Picture | null, simulated: boolean): Picture {
    const unknown = { state: 'unknown', why: 'the diagnosis is not working' } as const;
    return {
      atMs: nowMs,
      simulated,
      advice: { working: false, sinceMs, why },
      baseline: last?.baseline ?? null,
      mode: last?.mode ?? null,
      channels: this.#layout.sensors.map((sensor) => this.#channel(sensor.id, nowMs)),
      pumps: this.#layout.pumps.map((pump) => ({
        pump: pump.id,
        state: 'unknown',
        dischargePa: null,
        suctionPa: null,
        flowM3s: null,
        rotationHz: null,
        fuelM3: null,
        fuelLeftS: null,
      })),
      supplies: this.#layout.sources.map((source) => ({
        source: source.id,
        volumeM3: null,
        usableM3: null,
        trendM3s: null,
        filling: false,
        emptyInS: null,
        firstShort: null,
      })),
      lines: this.#layout.lines.map((line) => ({ line: line.id, ...unknown })),
      structures: this.#layout.structures.map((structure) => ({
        structure: structure.id,
        flowM3s: null,
        tally: null,
        ...unknown,
      })),
      heads: this.#layout.heads.map((head) => ({
        head: head.id,
        state: 'unknown',
        pressurePa: null,
        flowM3s: null,
        seenTurningMs: null,
      })),
      gates: last?.gates ?? [],
      shocks: [],
      rhythms: [],
      alarms: last?.alarms ?? [],
      setAside: last?.setAside ?? [],
      alarmLoad: null,
      notes: last?.notes ?? [],
      blind: ['The diagnosis is not working: only measured values are shown. Alarms are as they were last known.'],
    };
  }

  #channel(id: string, nowMs: number): ChannelPicture {
    const channel = this.#channels.get(id)!;
    const { latest } = channel;
    return {
      channel: id,
      quantity: channel.sensor.quantity,
      value: latest?.value ?? null,
      atMs: latest?.atMs ?? null,
      freshness: channel.freshness(nowMs),
      doubt: latest?.grade === 'out-of-range' ? 'out-of-range' : null,
      expected: null,
      low: null,
      high: null,
    };
  }
}
