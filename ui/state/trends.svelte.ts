/**
 * The tracks behind the charts: which channels are on, over which window, live.
 *
 * Points stay in plain arrays outside the runes; `tick` says that something was added. The past is asked for again when
 * the window changes, when the link comes back after a hole, and when live rows have piled up.
 */
import type { Picture } from '../../config/wire.ts';
import { fetchSeries } from '../link/requests.ts';
import { Track } from './track.ts';

export const WINDOWS = [
  { name: '10 min', lengthMs: 600_000 },
  { name: '1 h', lengthMs: 3_600_000 },
  { name: '6 h', lengthMs: 21_600_000 },
] as const;

const ROWS_MAX = 3_000;
/** A replay that races on fetches its charts no more often than this. */
const LEAPS_MS = 700;
const RUN_ON_MS = 5_000;

class Trends {
  windowMs = $state<number>(WINDOWS[0].lengthMs);
  tick = $state(0);
  /** Right edge of the charts: the last picture's time, and on from there while none comes. */
  nowMs = $state(0);
  /** The moment whose values are read off; null: now. */
  readAtMs = $state<number | null>(null);
  trouble = $state<string | null>(null);
  readonly #tracks = new Map<string, Track>();
  #heardMs = 0;
  #leaping: ReturnType<typeof setTimeout> | undefined;

  track(channel: string): Track {
    const known = this.#tracks.get(channel);
    if (known) return known;
    const track = new Track();
    this.#tracks.set(channel, track);
    if (this.nowMs > 0) void this.#load(channel, track);
    return track;
  }

  /** A chart of this channel is no longer shown. */
  drop(channel: string): void {
    this.#tracks.delete(channel);
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
    for (const [channel, track] of this.#tracks) void this.#load(channel, track);
  }

  take(picture: Picture, afterHole: boolean): void {
    const isFirst = this.nowMs === 0;
    this.nowMs = picture.atMs;
    this.#heardMs = picture.atMs;
    for (const channel of picture.channels) {
      const track = this.#tracks.get(channel.channel);
      track?.take(channel, picture.atMs, afterHole);
      track?.trim(picture.atMs - this.windowMs);
    }
    if (this.readAtMs !== null && this.readAtMs < picture.atMs - this.windowMs) this.readAtMs = null;
    const piled = [...this.#tracks.values()].some((track) => track.atMs.length > ROWS_MAX);
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
