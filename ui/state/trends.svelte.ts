/**
 * The tracks behind the charts: every channel over the last minutes, those that are drawn over the window chosen, live.
 *
 * Points stay in plain arrays outside the runes; `tick` says that something was added. The past of what is drawn is
 * asked for again when the window changes, when the link comes back after a hole, and when live rows have piled up.
 * What is not drawn is followed too: without the gateway its last minutes are all that a chart can show.
 */
import type { Picture } from '../../config/wire/wire.ts';
import { fetchSeries } from '../link/requests.ts';
import { Track } from './track.ts';

export const WINDOWS = [
  { name: '10 min', lengthMs: 600_000 },
  { name: '1 h', lengthMs: 3_600_000 },
  { name: '6 h', lengthMs: 21_600_000 },
] as const;

/** What is not drawn is kept so long. */
const SHORTEST_MS = WINDOWS[0].lengthMs;
const ROWS_MAX = 3_000;
/** A replay that races on fetches its charts no more often than this. */
const LEAPS_MS = 700;
const RUN_ON_MS = 5_000;

/** Rows of what is not drawn are thrown away by so many at once. */
const SPARE_MS = 60_000;

class Trends {
  windowMs = $state<number>(WINDOWS[0].lengthMs);
  tick = $state(0);
  /** Right edge of the charts: the last picture's time, and on from there while none comes. */
  nowMs = $state(0);
  /** The moment whose values are read off; null: now. */
  readAtMs = $state<number | null>(null);
  trouble = $state<string | null>(null);
  readonly #tracks = new Map<string, Track>();
  readonly #drawn = new Set<string>();
  #heardMs = 0;
  #leaping: ReturnType<typeof setTimeout> | undefined;

  track(channel: string): Track {
    const track = this.#followed(channel);
    if (this.#drawn.has(channel)) return track;
    this.#drawn.add(channel);
    if (this.nowMs > 0) void this.#load(channel, track);
    return track;
  }

  /** A chart of this channel is no longer shown. */
  drop(channel: string): void {
    this.#drawn.delete(channel);
  }

  /** The past of channels that nobody has drawn yet, one after another, while the gateway is there to tell it. */
  async bringPast(channels: readonly string[]): Promise<void> {
    for (const channel of channels) if (!this.#drawn.has(channel)) await this.#load(channel, this.#followed(channel));
  }

  #followed(channel: string): Track {
    const known = this.#tracks.get(channel);
    if (known) return known;
    const track = new Track();
    this.#tracks.set(channel, track);
    return track;
  }

  /** Another run: nothing of the old one may stand beside it. */
  forget(): void {
    for (const track of this.#tracks.values()) track.clear();
    this.nowMs = 0;
    this.#heardMs = 0;
    this.readAtMs = null;
  }

  /** A replay has gone somewhere else in time: what is drawn is no longer what led up to now. */
  leap(): void {
    for (const track of this.#tracks.values()) track.clear();
    this.readAtMs = null;
    if (this.#leaping !== undefined) return;
    this.#leaping = setTimeout(() => {
      this.#leaping = undefined;
      this.reload();
    }, LEAPS_MS);
  }

  setWindow(lengthMs: number): void {
    this.windowMs = lengthMs;
    this.readAtMs = null;
    this.reload();
  }

  reload(): void {
    for (const channel of this.#drawn) void this.#load(channel, this.#followed(channel));
  }

  take(picture: Picture, afterHole: boolean): void {
    const isFirst = this.nowMs === 0;
    this.nowMs = picture.atMs;
    this.#heardMs = picture.atMs;
    for (const channel of picture.channels) {
      const track = this.#followed(channel.channel);
      track.take(channel, picture.atMs, afterHole);
      const keptMs = this.#drawn.has(channel.channel) ? this.windowMs : SHORTEST_MS;
      const oldestMs = track.atMs[0] ?? picture.atMs;
      if (this.#drawn.has(channel.channel) || oldestMs < picture.atMs - keptMs - SPARE_MS)
        track.trim(picture.atMs - keptMs);
    }
    if (this.readAtMs !== null && this.readAtMs < picture.atMs - this.windowMs) this.readAtMs = null;
    const piled = [...this.#drawn].some((channel) => this.#followed(channel).atMs.length > ROWS_MAX);
    if (isFirst || afterHole || piled) this.reload();
    this.tick += 1;
  }

  /** No picture has come for so long: the charts run on, so that the gap is seen to grow. */
  runOn(silentMs: number): void {
    const nowMs = this.#heardMs + Math.floor(silentMs / RUN_ON_MS) * RUN_ON_MS;
    if (this.#heardMs === 0 || nowMs === this.nowMs) return;
    this.nowMs = nowMs;
    this.tick += 1;
  }

  async #load(channel: string, track: Track): Promise<void> {
    const answer = await fetchSeries(channel, this.nowMs - this.windowMs, this.nowMs);
    this.trouble = answer.ok ? null : answer.why;
    if (answer.ok) track.load(answer.value);
    this.tick += 1;
  }
}

export const trends = new Trends();
