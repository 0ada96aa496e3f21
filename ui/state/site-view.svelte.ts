/**
 * The site as this screen knows it: layout, last picture, and how old that is on the wall.
 *
 * In: messages of the live link. Out: `picture` (the last one; doubtful once no newer came for NOT_LIVE_S), what was
 * measured since, ages in seconds, words for times and amounts. The gateway's clock may be a simulated one, so ages are
 * measured from the moment of receipt here, plus ages inside the picture; the two clocks are never compared.
 */
import { SvelteMap } from 'svelte/reactivity';
import type { Layout, Sensor, UnitSystem } from '../../config/layout.ts';
import { show, type Shown } from '../../config/units.ts';
import type { FeedPicture } from '../../config/feed.ts';
import type { ReplayState } from '../../config/replay.ts';
import type { ChannelNews, ChannelPicture, LiveMessage, Picture } from '../../config/wire.ts';
import { LiveLink, type LinkState } from '../link/live-link.ts';
import { clockWords } from '../words/time.ts';
import { openBurst } from './bursts.svelte.ts';
import { choices } from './choices.svelte.ts';
import { doubtful } from './doubtful-picture.ts';
import { trends } from './trends.svelte.ts';

/** Judgement: fifteen missed pictures. */
const NOT_LIVE_S = 15;
const TICK_MS = 500;
/** In a replay time may leap: past this, charts are fetched anew instead of drawn on. */
const LEAP_MS = 3_000;

/**
 * Seconds since a mark; of two clocks the one that ran more, because one stops in sleep and the other may be set back.
 */
class Stopwatch {
  #wallMs = Date.now();
  #steadyMs = performance.now();

  restart(): void {
    this.#wallMs = Date.now();
    this.#steadyMs = performance.now();
  }

  get seconds(): number {
    return Math.max(0, Date.now() - this.#wallMs, performance.now() - this.#steadyMs) / 1_000;
  }
}

class SiteView {
  layout = $state.raw<Layout | null>(null);
  feed = $state.raw<FeedPicture | null>(null);
  run = $state<string | null>(null);
  /** Null: this is no replay. */
  replay = $state.raw<ReplayState | null>(null);
  link = $state.raw<LinkState>({ name: 'connecting' });
  /** Seconds since the last picture came in. */
  silentS = $state(0);
  /** This device's own clock, ticking; for waits here, never for ages on the run's clock. */
  wallMs = $state(Date.now());
  #heard = $state.raw<Picture | null>(null);
  /**
   * The newest value that came between pictures, by channel; each is followed by itself, so that few things are drawn
   * anew.
   */
  readonly #news = new SvelteMap<string, ChannelNews | null>();
  readonly #sinceHeard = new Stopwatch();
  #build: string | null = null;
  #link: LiveLink | null = null;

  live = $derived(this.silentS < NOT_LIVE_S);
  picture = $derived(this.#heard && !this.live ? doubtful(this.#heard) : this.#heard);
  units = $derived<UnitSystem>(choices.units ?? this.layout?.units ?? 'metric');
  zone = $derived(choices.utc ? 'UTC' : (this.layout?.timeZone ?? 'UTC'));
  readonly #channels = $derived(new Map(this.picture?.channels.map((channel) => [channel.channel, channel])));
  /** Age of the newest reading of all. */
  dataAgeS = $derived.by(() => {
    const picture = this.#heard;
    const newest = Math.max(...(picture?.channels.map((channel) => channel.atMs ?? -Infinity) ?? []));
    return picture && Number.isFinite(newest) ? Math.max(0, (picture.atMs - newest) / 1_000) + this.silentS : null;
  });

  start(): void {
    const scheme = location.protocol === 'https:' ? 'wss' : 'ws';
    this.#link = new LiveLink(`${scheme}://${location.host}/live`, {
      message: (message) => this.#take(message),
      state: (state) => (this.link = state),
    });
    this.#link.open();
    setInterval(() => this.#tick(), TICK_MS);
    document.addEventListener('visibilitychange', () => {
      if (document.hidden) return;
      this.#tick();
      if (!this.live || this.link.name === 'waiting') this.retry();
    });
  }

  retry(): void {
    this.#link?.open();
  }

  #tick(): void {
    this.wallMs = Date.now();
    if (!this.#heard) return;
    this.silentS = this.#sinceHeard.seconds;
    if (!this.live && !this.replay) trends.runOn(1_000 * this.silentS);
  }

  #take(message: LiveMessage): void {
    if (message.type === 'site') {
      if (this.#build !== null && this.#build !== message.build) location.reload();
      this.#build = message.build;
      if (this.run !== message.run) {
        trends.forget();
        openBurst.close();
        this.#news.clear();
      }
      this.run = message.run;
      this.layout = message.layout;
      // A key that is not there yet is watched with the whole map.
      for (const { id } of message.layout.sensors) if (!this.#news.has(id)) this.#news.set(id, null);
      return;
    }
    if (message.type === 'values') {
      if (this.replay === null && message.simulated === this.#heard?.simulated)
        for (const news of message.values) this.#news.set(news.channel, news);
      return;
    }
    const afterHole = this.#sinceHeard.seconds > NOT_LIVE_S;
    const leptMs = message.picture.atMs - (this.#heard?.atMs ?? message.picture.atMs);
    this.replay = message.replay ?? null;
    if (this.replay && (leptMs < 0 || leptMs > LEAP_MS)) trends.leap();
    this.#sinceHeard.restart();
    this.silentS = 0;
    this.#heard = message.picture;
    this.feed = message.feed;
    trends.take(message.picture, afterHole);
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
    if (!this.#heard || channel?.atMs == null) return null;
    return Math.max(0, (this.#heard.atMs - channel.atMs) / 1_000 + this.silentS);
  }

  /** Age in seconds of a moment on the run's clock. */
  sinceS(atMs: number): number {
    return Math.max(0, ((this.#heard?.atMs ?? atMs) - atMs) / 1_000) + this.silentS;
  }

  time(atMs: number): string {
    return clockWords(atMs, this.zone);
  }

  amount(value: number | null, what: Shown): { readonly text: string; readonly unit: string } {
    return show(value, what, this.units);
  }

  words(value: number | null, what: Shown): string {
    const { text, unit } = this.amount(value, what);
    return value === null ? 'not known' : `${text} ${unit}`;
  }
}

export const site = new SiteView();
