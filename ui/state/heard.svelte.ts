/**
 * What was heard from the gateway, and how long ago on the wall.
 *
 * In: pictures and values of the live link, or the picture kept on this device. Out: `picture` (the last one; doubtful
 * once no newer came for NOT_LIVE_S), what was measured since, ages in seconds. The gateway's clock may be a simulated
 * one, so ages are measured from the moment of receipt here, plus ages inside the picture; the two clocks are never
 * compared.
 */
import { SvelteMap } from 'svelte/reactivity';
import type { Sensor } from '../../config/layout/layout.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { LiveMessage } from '../../config/wire/live.ts';
import type { ReplayState } from '../../config/wire/replay.ts';
import type { ChannelNews, ChannelPicture, Picture } from '../../config/wire/wire.ts';
import { doubtful } from './doubtful-picture.ts';
import type { KeptPicture } from './kept-picture.ts';

/** Judgement: fifteen missed pictures. */
export const NOT_LIVE_S = 15;

/**
 * Seconds since a mark; of two clocks the one that ran more, because one stops in sleep and the other may be set back.
 */
class Stopwatch {
  #wallMs = Date.now();
  #steadyMs = performance.now();

  restart(agoMs = 0): void {
    this.#wallMs = Date.now() - agoMs;
    this.#steadyMs = performance.now() - agoMs;
  }

  get seconds(): number {
    return Math.max(0, Date.now() - this.#wallMs, performance.now() - this.#steadyMs) / 1_000;
  }
}

class Heard {
  /** As it was heard, also when nothing newer comes. */
  last = $state.raw<Picture | null>(null);
  feed = $state.raw<FeedPicture | null>(null);
  /** Null: this is no replay. */
  replay = $state.raw<ReplayState | null>(null);
  /** Seconds since the last picture came in. */
  silentS = $state(0);
  /** What is shown was kept on this device; nothing has come since the page was opened. */
  isKept = $state(false);
  /**
   * The newest value that came between pictures, by channel; each is followed by itself, so that few things are drawn
   * anew.
   */
  readonly #news = new SvelteMap<string, ChannelNews | null>();
  readonly #since = new Stopwatch();

  live = $derived(!this.isKept && this.silentS < NOT_LIVE_S);
  picture = $derived(this.last && !this.live ? doubtful(this.last) : this.last);
  readonly #channels = $derived(new Map(this.picture?.channels.map((channel) => [channel.channel, channel])));
  /** Age of the newest reading of all. */
  dataAgeS = $derived.by(() => {
    const picture = this.last;
    const newest = Math.max(...(picture?.channels.map((channel) => channel.atMs ?? -Infinity) ?? []));
    return picture && Number.isFinite(newest) ? Math.max(0, (picture.atMs - newest) / 1_000) + this.silentS : null;
  });

  /** As the stopwatch has it now; `silentS` follows it tick by tick. */
  get secondsSince(): number {
    return this.#since.seconds;
  }

  tick(): void {
    this.silentS = this.#since.seconds;
  }

  take(message: Extract<LiveMessage, { type: 'picture' }>): void {
    this.replay = message.replay ?? null;
    this.#since.restart();
    this.silentS = 0;
    this.isKept = false;
    this.last = message.picture;
    this.feed = message.feed;
  }

  takeValues(message: Extract<LiveMessage, { type: 'values' }>): void {
    if (this.replay !== null || message.simulated !== this.last?.simulated) return;
    for (const news of message.values) this.#news.set(news.channel, news);
  }

  /** A key that is not there yet is watched with the whole map. */
  expect(sensors: readonly Sensor[]): void {
    for (const { id } of sensors) if (!this.#news.has(id)) this.#news.set(id, null);
  }

  recall(kept: KeptPicture): void {
    this.isKept = true;
    this.replay = kept.replay;
    this.feed = kept.feed;
    this.last = kept.picture;
    this.#since.restart(Date.now() - kept.heardMs);
  }

  forget(): void {
    this.last = null;
    this.feed = null;
    this.replay = null;
    this.isKept = false;
    this.silentS = 0;
    this.#news.clear();
  }

  channel(id: string | undefined): ChannelPicture | null {
    return (id !== undefined && this.#channels.get(id)) || null;
  }

  /** As in the picture, but with what was measured since: for numbers that are read off, ten times a second. */
  newest(id: string | undefined): ChannelPicture | null {
    const channel = this.channel(id);
    const news = channel && this.live ? this.#news.get(channel.channel) : null;
    return channel && news && (news.atMs ?? 0) > (channel.atMs ?? 0)
      ? { ...channel, ...news, doubt: news.doubt ?? channel.doubt }
      : channel;
  }

  /** The device at a sensor's place: as the layout says, or as somebody has assigned. */
  measuredBy(sensor: Sensor): string {
    return this.feed?.assigned.find((one) => one.sensor === sensor.id)?.device ?? sensor.device;
  }

  /** Age of one reading in seconds, counted on while nothing new comes. */
  ageS(channel: ChannelPicture | null): number | null {
    if (!this.last || channel?.atMs == null) return null;
    return Math.max(0, (this.last.atMs - channel.atMs) / 1_000 + this.silentS);
  }

  /** Age in seconds of a moment on the run's clock. */
  sinceS(atMs: number): number {
    return Math.max(0, ((this.last?.atMs ?? atMs) - atMs) / 1_000) + this.silentS;
  }
}

export const heard = new Heard();
