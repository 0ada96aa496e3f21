/**
 * What was measured, and nothing that was concluded from it: between two pictures the newest values, and the picture
 * that is left when the core itself has failed.
 *
 * In: readings, and the last picture the core made. Out: values with their age; pictures whose states are all
 * 'unknown'. Alarms and notes stay as they were last known, because dropping them would look like all is well.
 */
import type { Layout } from '../../config/layout/layout.ts';
import { namesIn, unknownPicture, type SiteNames } from '../../config/wire/unknown-picture.ts';
import type { ChannelNews, Picture } from '../../config/wire/wire.ts';
import { channelsOf, type Channel } from './telemetry/channel.ts';
import { channelPicture, foundBefore } from './telemetry/channel-picture.ts';
import type { Reading } from './telemetry/reading.ts';

const NOTHING = { band: null, found: null } as const;

export class RawTier {
  readonly #names: SiteNames;
  readonly #channels: ReadonlyMap<string, Channel>;
  readonly #heard = new Set<string>();

  constructor(layout: Layout) {
    this.#names = namesIn(layout);
    this.#channels = channelsOf(layout);
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
      const { channel, value, atMs, freshness, doubt } = channelPicture(this.#channels.get(id)!, nowMs, NOTHING);
      return { channel, value, atMs, freshness, doubt };
    });
    this.#heard.clear();
    return news;
  }

  picture(nowMs: number, sinceMs: number, why: string, last: Picture | null, simulated: boolean): Picture {
    const before = new Map(last?.channels.map((channel) => [channel.channel, channel]));
    return unknownPicture(this.#names, last, {
      atMs: nowMs,
      simulated,
      advice: { working: false, sinceMs, why },
      why: 'the diagnosis is not working',
      channels: [...this.#channels.values()].map((channel) =>
        channelPicture(channel, nowMs, { band: null, found: foundBefore(before.get(channel.sensor.id)) }),
      ),
      blind: ['The diagnosis is not working: only measured values are shown. Alarms are as they were last known.'],
    });
  }
}
