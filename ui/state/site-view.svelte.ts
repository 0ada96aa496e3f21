/**
 * The site as this screen knows it: layout, last picture, and how old that is on the wall.
 *
 * In: messages of the live link. Out: `picture` (the last one; doubtful once no newer came for NOT_LIVE_S), what was
 * measured since, ages in seconds, words for times and amounts. The gateway's clock may be a simulated one, so ages are
 * measured from the moment of receipt here, plus ages inside the picture; the two clocks are never compared.
 */
import { SvelteMap } from 'svelte/reactivity';
import type { Layout, Sensor, UnitSystem } from '../../config/layout/layout.ts';
import { show, type Shown } from '../../config/units.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { ReplayState } from '../../config/wire/replay.ts';
import type { LiveMessage } from '../../config/wire/live.ts';
import type { ChannelNews, ChannelPicture, Picture } from '../../config/wire/wire.ts';
import { askAccess } from '../link/access.ts';
import { LiveLink, type LinkState } from '../link/live-link.ts';
import { ownScreen } from '../link/screen-files.ts';
import { clockWords } from '../words/time.ts';
import { openBurst } from './bursts.svelte.ts';
import { choices } from './choices.svelte.ts';
import { doubtful } from './doubtful-picture.ts';
import { finds } from './finds.svelte.ts';
import { forgetPicture, keepPicture, recallPicture, type KeptPicture } from './kept-picture.ts';
import { pageKeeping } from './page-keeping.svelte.ts';
import { renewal } from './renewal.svelte.ts';
import { reviewing } from './review.svelte.ts';
import { trends } from './trends.svelte.ts';
import { unwritten } from './unwritten.svelte.ts';

/** Judgement: fifteen missed pictures. */
const NOT_LIVE_S = 15;
const TICK_MS = 500;
/** Judgement: what is kept on this device is no older than this when the gateway goes. */
const KEEP_EVERY_MS = 10_000;
/** Judgement: nobody looks longer at a page that shows nothing. */
const RECALL_PATIENCE_MS = 4_000;
/** Judgement: a gateway that is reached and has no picture for so long has only just started. */
const NO_PICTURE_MS = 3_000;
/** In a replay time may leap: past this, charts are fetched anew instead of drawn on. */
const LEAP_MS = 3_000;

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
  /** What is shown was kept on this device; nothing has come since the page was opened. */
  #isKept = $state(false);
  #site: KeptPicture['site'] | null = null;
  #keptMs = 0;
  /** How often the gateway has said what it watches: once on each new link. */
  greeted = $state(0);
  /** The run that this one took the place of while the page stood. */
  runBefore = $state<string | null>(null);

  live = $derived(!this.#isKept && this.silentS < NOT_LIVE_S);
  /** As it was heard, also when nothing newer comes: only for words that say of when it is. */
  last = $derived(this.#heard);
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
      state: (state) => {
        this.link = state;
        if (state.name === 'waiting') this.#keep();
      },
    });
    this.#link.open();
    void this.#recall();
    setInterval(() => this.#tick(), TICK_MS);
    window.addEventListener('online', () => this.retry());
    document.addEventListener('visibilitychange', () => {
      if (document.hidden) return this.#keep();
      this.#tick();
      if (!this.live || this.link.name === 'waiting') this.retry();
    });
  }

  /**
   * Shows what was kept on this device where the gateway tells nothing: not reached, or reached and without a picture
   * for a while. Where it says that nobody is signed in, nothing is shown.
   */
  async #recall(): Promise<void> {
    const access = await askAccess(RECALL_PATIENCE_MS);
    if (access.ok && access.value.asked && access.value.role === null) return forgetPicture();
    if (access.ok) await new Promise((done) => setTimeout(done, NO_PICTURE_MS));
    // Where no page is kept, no picture is.
    if (!(await pageKeeping.look())) return;
    const kept = await recallPicture(Date.now());
    if (!kept || this.#heard || (this.run !== null && this.run !== kept.site.run)) return;
    this.#isKept = true;
    this.layout ??= kept.site.layout;
    this.run ??= kept.site.run;
    this.replay = kept.replay;
    this.feed = kept.feed;
    this.#heard = kept.picture;
    this.#sinceHeard.restart(Date.now() - kept.heardMs);
    this.#tick();
    trends.take(kept.picture, true);
  }

  #keep(): void {
    if (!pageKeeping.kept || this.#isKept || !this.#heard || !this.#site) return;
    this.#keptMs = Date.now();
    void keepPicture({
      screen: ownScreen(),
      site: this.#site,
      picture: this.#heard,
      feed: this.feed,
      replay: this.replay,
      heardMs: Date.now() - 1_000 * this.#sinceHeard.seconds,
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
    if (message.type === 'site') return this.#takeSite(message);
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
    this.#isKept = false;
    this.#heard = message.picture;
    this.feed = message.feed;
    if (!this.replay) unwritten.hear(message.feed);
    trends.take(message.picture, afterHole);
    if (Date.now() - this.#keptMs > KEEP_EVERY_MS) this.#keep();
  }

  #takeSite(message: KeptPicture['site']): void {
    if (this.#build !== null && this.#build !== message.build) renewal.begin('The gateway was renewed.', message.build);
    this.#build = message.build;
    this.#site = message;
    if (this.run !== null && this.run !== message.run) this.#leaveRun(this.run, message.layout);
    this.run = message.run;
    this.layout = message.layout;
    // A key that is not there yet is watched with the whole map.
    for (const { id } of message.layout.sensors) if (!this.#news.has(id)) this.#news.set(id, null);
    this.greeted += 1;
  }

  /** The gateway says that nobody is signed in here: what was kept is neither kept nor shown any longer. */
  async signedOut(): Promise<void> {
    if (this.#isKept) {
      this.#forget();
      this.layout = null;
      this.run = null;
    }
    await forgetPicture();
  }

  /** Nothing of another run may stand beside this one; of another site not even the page. */
  #leaveRun(before: string, layout: Layout): void {
    if (!this.#isKept && this.layout && this.layout.site !== layout.site)
      renewal.begin(`This gateway watches another site now: ${layout.name}.`, layout.site);
    this.runBefore = before;
    this.#forget();
  }

  #forget(): void {
    this.#heard = null;
    this.feed = null;
    this.replay = null;
    this.#isKept = false;
    this.#news.clear();
    trends.forget();
    openBurst.close();
    finds.forget();
    reviewing.forget();
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
