/**
 * The site as this screen knows it: layout, run, link, and through them what was heard and how it is said.
 *
 * In: messages of the live link, what was kept on this device. Out: the members of `heard` and `Spoken`, for all parts
 * of the screen.
 */
import type { Layout, Sensor, UnitSystem } from '../../config/layout/layout.ts';
import type { Shown } from '../../config/units.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { ReplayState } from '../../config/wire/replay.ts';
import type { LiveMessage } from '../../config/wire/live.ts';
import type { ChannelPicture, Picture } from '../../config/wire/wire.ts';
import { askAccess } from '../link/access.ts';
import { LiveLink, type LinkState } from '../link/live-link.ts';
import { ownScreen } from '../link/screen-files.ts';
import { openBurst } from './bursts.svelte.ts';
import { finds } from './finds.svelte.ts';
import { heard, NOT_LIVE_S } from './heard.svelte.ts';
import { forgetPicture, keepPicture, recallPicture, type KeptPicture } from './kept-picture.ts';
import { pageKeeping } from './page-keeping.svelte.ts';
import { renewal } from './renewal.svelte.ts';
import { reviewing } from './review.svelte.ts';
import { Spoken } from './spoken.svelte.ts';
import { trends } from './trends.svelte.ts';
import { unwritten } from './unwritten.svelte.ts';

const TICK_MS = 500;
/** Judgement: what is kept on this device is no older than this when the gateway goes. */
const KEEP_EVERY_MS = 10_000;
/** Judgement: nobody looks longer at a page that shows nothing. */
const RECALL_PATIENCE_MS = 4_000;
/** Judgement: a gateway that is reached and has no picture for so long has only just started. */
const NO_PICTURE_MS = 3_000;
/** In a replay time may leap: past this, charts are fetched anew instead of drawn on. */
const LEAP_MS = 3_000;

class SiteView {
  layout = $state.raw<Layout | null>(null);
  run = $state<string | null>(null);
  link = $state.raw<LinkState>({ name: 'connecting' });
  /** This device's own clock, ticking; for waits here, never for ages on the run's clock. */
  wallMs = $state(Date.now());
  /** How often the gateway has said what it watches: once on each new link. */
  greeted = $state(0);
  /** The run that this one took the place of while the page stood. */
  runBefore = $state<string | null>(null);
  readonly #spoken = new Spoken(() => this.layout);
  #link: LiveLink | null = null;
  #site: KeptPicture['site'] | null = null;
  #keptMs = 0;

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
    if (!kept || heard.last || (this.run !== null && this.run !== kept.site.run)) return;
    this.layout ??= kept.site.layout;
    this.run ??= kept.site.run;
    heard.recall(kept);
    this.#tick();
    trends.take(kept.picture, true);
  }

  #keep(): void {
    const { last, isKept, feed, replay, secondsSince } = heard;
    if (!pageKeeping.kept || isKept || !last || !this.#site) return;
    this.#keptMs = Date.now();
    void keepPicture({
      screen: ownScreen(),
      site: this.#site,
      picture: last,
      feed,
      replay,
      heardMs: Date.now() - 1_000 * secondsSince,
    });
  }

  retry(): void {
    this.#link?.open();
  }

  #tick(): void {
    this.wallMs = Date.now();
    if (!heard.last) return;
    heard.tick();
    if (!this.live && !this.replay) trends.runOn(1_000 * this.silentS);
  }

  #take(message: LiveMessage): void {
    if (message.type === 'site') return this.#takeSite(message);
    if (message.type === 'values') return heard.takeValues(message);
    const afterHole = heard.secondsSince > NOT_LIVE_S;
    const leptMs = message.picture.atMs - (this.last?.atMs ?? message.picture.atMs);
    heard.take(message);
    if (this.replay && (leptMs < 0 || leptMs > LEAP_MS)) trends.leap();
    if (!this.replay) unwritten.hear(message.feed);
    trends.take(message.picture, afterHole);
    if (Date.now() - this.#keptMs > KEEP_EVERY_MS) this.#keep();
  }

  #takeSite(message: KeptPicture['site']): void {
    if (this.#site && this.#site.build !== message.build) renewal.begin('The gateway was renewed.', message.build);
    this.#site = message;
    if (this.run !== null && this.run !== message.run) this.#leaveRun(this.run, message.layout);
    this.run = message.run;
    this.layout = message.layout;
    heard.expect(message.layout.sensors);
    this.greeted += 1;
  }

  /** The gateway says that nobody is signed in here: what was kept is neither kept nor shown any longer. */
  async signedOut(): Promise<void> {
    if (heard.isKept) {
      this.#forget();
      this.layout = null;
      this.run = null;
    }
    await forgetPicture();
  }

  /** Nothing of another run may stand beside this one; of another site not even the page. */
  #leaveRun(before: string, layout: Layout): void {
    if (!heard.isKept && this.layout && this.layout.site !== layout.site)
      renewal.begin(`This gateway watches another site now: ${layout.name}.`, layout.site);
    this.runBefore = before;
    this.#forget();
  }

  #forget(): void {
    heard.forget();
    trends.forget();
    openBurst.close();
    finds.forget();
    reviewing.forget();
  }

  get feed(): FeedPicture | null {
    return heard.feed;
  }

  /** Null: this is no replay. */
  get replay(): ReplayState | null {
    return heard.replay;
  }

  get live(): boolean {
    return heard.live;
  }

  /** As it was heard, also when nothing newer comes: only for words that say of when it is. */
  get last(): Picture | null {
    return heard.last;
  }

  get picture(): Picture | null {
    return heard.picture;
  }

  /** Seconds since the last picture came in. */
  get silentS(): number {
    return heard.silentS;
  }

  get dataAgeS(): number | null {
    return heard.dataAgeS;
  }

  channel(id: string | undefined): ChannelPicture | null {
    return heard.channel(id);
  }

  newest(id: string | undefined): ChannelPicture | null {
    return heard.newest(id);
  }

  measuredBy(sensor: Sensor): string {
    return heard.measuredBy(sensor);
  }

  ageS(channel: ChannelPicture | null): number | null {
    return heard.ageS(channel);
  }

  sinceS(atMs: number): number {
    return heard.sinceS(atMs);
  }

  get units(): UnitSystem {
    return this.#spoken.units;
  }

  get zone(): string {
    return this.#spoken.zone;
  }

  time(atMs: number): string {
    return this.#spoken.time(atMs);
  }

  amount(value: number | null, what: Shown): { readonly text: string; readonly unit: string } {
    return this.#spoken.amount(value, what);
  }

  words(value: number | null, what: Shown): string {
    return this.#spoken.words(value, what);
  }
}

export const site = new SiteView();
