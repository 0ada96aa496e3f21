/**
 * Plays a recorded run back: a picture and the mark of a replay each time.
 *
 * In: the record, orders from the screen, ticks with the wall's time. Out: pictures with the feed and the state of the
 * replay. It shows at least one a second, also when it stands still, so that screens know that they are not cut off.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { ReplayDifference, ReplayOrder, ReplayState } from '../../config/wire/replay.ts';
import type { Picture } from '../../config/wire/wire.ts';
import type { RunReader } from '../journal/run-reader.ts';
import { FeedThen } from './feed-then.ts';
import { Playhead } from './playhead.ts';
import type { RerunParts } from './record/rerun-record.ts';
import { Rules } from './rules.ts';
import { ShownThen } from './shown-then.ts';

export interface PlayerParts extends RerunParts {
  readonly record: RunReader;
  readonly show: (picture: Picture, feed: FeedPicture, replay: ReplayState) => void;
}

const SHOW_EVERY_MS = 1_000;

export class Player {
  readonly layout: Layout;
  readonly record: RunReader;
  readonly #parts: PlayerParts;
  readonly #then: ShownThen;
  readonly #feed: FeedThen;
  readonly #times: readonly number[];
  readonly #head: Playhead;
  readonly #rules: Rules;
  /** The second that was shown last, and when by the wall. */
  #shown = { second: -1, wallMs: -Infinity };
  #latest: { readonly picture: Picture; readonly feed: FeedPicture; readonly replay: ReplayState } | null = null;

  constructor(parts: PlayerParts) {
    const { layout, record } = parts;
    this.#parts = parts;
    this.layout = layout;
    this.record = record;
    this.#then = new ShownThen(layout, record);
    this.#feed = new FeedThen(layout, record);
    this.#times = record.pictureTimes();
    this.#head = new Playhead(this.#times[0] ?? record.header.startedMs, record.endMs);
    this.#rules = new Rules(parts, record, () => this.#show(this.#shown.wallMs));
    this.#show(0);
  }

  get latest(): { readonly picture: Picture; readonly feed: FeedPicture; readonly replay: ReplayState } | null {
    return this.#latest;
  }

  get state(): ReplayState {
    const { header } = this.record;
    const { fromMs, toMs, atMs, playing, speed } = this.#head;
    return {
      run: header.run,
      fromMs,
      toMs,
      atMs,
      playing,
      speed,
      rules: this.#rules.inForce,
      software: header.software,
      softwareToday: this.#parts.software,
      rerun: this.#rules.rerun,
    };
  }

  /** Of the re-run asked for last, in words; null: none was, or it is not done. */
  get differences(): readonly ReplayDifference[] | null {
    return this.#rules.differences;
  }

  order(order: ReplayOrder): void {
    switch (order.do) {
      case 'play':
        this.#head.play();
        break;
      case 'pause':
        this.#head.pause();
        break;
      case 'step':
        this.#head.step(order.seconds);
        break;
      case 'go':
        this.#head.go(order.atMs);
        break;
      case 'speed':
        this.#head.setSpeed(order.speed);
        break;
      case 'rules':
        this.#rules.choose(order.rules);
        break;
      case 'stop-rerun':
        this.#rules.stop();
        break;
    }
    this.#show(this.#shown.wallMs);
  }

  /** To be called some ten times a second. */
  tick(wallMs: number): void {
    this.#head.tick(wallMs, this.#rules.telling?.times ?? this.#times);
    const { second, wallMs: shownMs } = this.#shown;
    if (Math.floor(this.#head.atMs / 1_000) !== second || Math.abs(wallMs - shownMs) >= SHOW_EVERY_MS)
      this.#show(wallMs);
  }

  close(): void {
    this.#rules.close();
    this.record.close();
  }

  #show(wallMs: number): void {
    const { atMs } = this.#head;
    const picture = (this.#rules.telling?.shown ?? this.#then).at(atMs);
    if (!picture) return;
    this.#shown = { second: Math.floor(atMs / 1_000), wallMs };
    this.#latest = { picture, feed: this.#feed.at(picture.atMs), replay: this.state };
    this.#parts.show(this.#latest.picture, this.#latest.feed, this.#latest.replay);
  }
}
