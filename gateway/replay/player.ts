/**
 * Plays a recorded run back: where it stands, how fast it goes, by whose rules; a picture and the mark of a replay each
 * time.
 *
 * In: the record, orders from the screen, ticks with the wall's time. Out: pictures with the feed and the state of the
 * replay. It shows at least one a second, also when it stands still, so that screens know that they are not cut off.
 * Today's rules need a re-run first, which works beside the replay and can be stopped.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { FeedPicture } from '../../config/wire/feed.ts';
import type { ReplayDifference, ReplayOrder, ReplaySpeed, ReplayState, ReplayRules } from '../../config/wire/replay.ts';
import type { Picture } from '../../config/wire/wire.ts';
import type { RunReader } from '../journal/run-reader.ts';
import { episodesOf, type Episode } from '../review/episodes.ts';
import { differencesOf, type Difference } from './differences.ts';
import { FeedThen } from './feed-then.ts';
import { RerunRecord, type RerunParts } from './rerun-record.ts';
import { ShownThen } from './shown-then.ts';

export interface PlayerParts extends RerunParts {
  readonly record: RunReader;
  readonly show: (picture: Picture, feed: FeedPicture, replay: ReplayState) => void;
}

type Rerun = Exclude<ReplayRules, 'then'>;

/** A finished re-run. */
interface Telling {
  readonly shown: ShownThen;
  readonly times: readonly number[];
  readonly differences: readonly Difference[];
}

const SHOW_EVERY_MS = 1_000;
/** A second of the wall never crosses more than this at once: a laptop that slept does not skip the night. */
const ELAPSED_MAX_MS = 1_000;

export class Player {
  readonly layout: Layout;
  readonly record: RunReader;
  readonly #parts: PlayerParts;
  readonly #then: ShownThen;
  readonly #feed: FeedThen;
  readonly #fromMs: number;
  readonly #toMs: number;
  #atMs: number;
  #playing = false;
  #speed: ReplaySpeed = 1;
  #rules: ReplayRules = 'then';
  /** What the screen asked for last; it is shown as soon as its re-run is done. */
  #wanted: ReplayRules = 'then';
  #asked: Rerun = 'today';
  readonly #reruns = new Map<Rerun, RerunRecord>();
  readonly #told = new Map<Rerun, Telling>();
  readonly #times: readonly number[];
  #tickedMs: number | null = null;
  #shownSecond = -1;
  #shownWallMs = -Infinity;
  #latest: { readonly picture: Picture; readonly feed: FeedPicture; readonly replay: ReplayState } | null = null;

  constructor(parts: PlayerParts) {
    this.#parts = parts;
    this.layout = parts.layout;
    this.record = parts.record;
    this.#then = new ShownThen(parts.layout, parts.record);
    this.#feed = new FeedThen(parts.layout, parts.record);
    this.#times = parts.record.pictureTimes();
    this.#fromMs = this.#times[0] ?? parts.record.header.startedMs;
    this.#toMs = Math.max(this.#fromMs, parts.record.endMs);
    this.#atMs = this.#fromMs;
    this.#show(0);
  }

  get latest(): { readonly picture: Picture; readonly feed: FeedPicture; readonly replay: ReplayState } | null {
    return this.#latest;
  }

  get state(): ReplayState {
    const { header } = this.record;
    return {
      run: header.run,
      fromMs: this.#fromMs,
      toMs: this.#toMs,
      atMs: this.#atMs,
      playing: this.#playing,
      speed: this.#speed,
      rules: this.#rules,
      software: header.software,
      softwareToday: this.#parts.software,
      rerun: this.#rerunState,
    };
  }

  get #rerunState(): ReplayState['rerun'] {
    const told = this.#told.get(this.#asked);
    if (told) return { name: 'done', differences: told.differences.length };
    const state = this.#reruns.get(this.#asked)?.state;
    return state === undefined || state.name === 'done' ? { name: 'none' } : state;
  }

  /** Of the re-run asked for last, in words; null: none was, or it is not done. */
  get differences(): readonly ReplayDifference[] | null {
    return this.#told.get(this.#asked)?.differences.map(wordsOf) ?? null;
  }

  order(order: ReplayOrder): void {
    switch (order.do) {
      case 'play':
        if (this.#atMs >= this.#toMs) this.#atMs = this.#fromMs;
        this.#playing = true;
        break;
      case 'pause':
        this.#playing = false;
        break;
      case 'step':
        this.#playing = false;
        this.#atMs = Math.floor(this.#atMs / 1_000) * 1_000 + order.seconds * 1_000;
        break;
      case 'go':
        this.#atMs = order.atMs;
        break;
      case 'speed':
        this.#speed = order.speed;
        break;
      case 'rules':
        this.#choose(order.rules);
        break;
      case 'stop-rerun':
        for (const rerun of this.#reruns.values()) rerun.stop();
        this.#wanted = this.#rules;
        break;
    }
    this.#atMs = Math.min(this.#toMs, Math.max(this.#fromMs, this.#atMs));
    this.#show(this.#shownWallMs);
  }

  /** To be called some ten times a second. */
  tick(wallMs: number): void {
    const elapsedMs = Math.min(ELAPSED_MAX_MS, Math.max(0, wallMs - (this.#tickedMs ?? wallMs)));
    this.#tickedMs = wallMs;
    if (this.#playing) {
      this.#atMs = Math.min(
        this.#toMs,
        this.#speed === 'changes' ? this.#nextChange() : this.#atMs + elapsedMs * this.#speed,
      );
      if (this.#atMs >= this.#toMs) this.#playing = false;
    }
    if (Math.floor(this.#atMs / 1_000) !== this.#shownSecond || Math.abs(wallMs - this.#shownWallMs) >= SHOW_EVERY_MS)
      this.#show(wallMs);
  }

  close(): void {
    for (const rerun of this.#reruns.values()) rerun.close();
    this.record.close();
  }

  #nextChange(): number {
    const times = this.#telling?.times ?? this.#times;
    return times.find((atMs) => atMs > this.#atMs) ?? this.#toMs;
  }

  get #telling(): Telling | null {
    return this.#rules === 'then' ? null : (this.#told.get(this.#rules) ?? null);
  }

  #choose(rules: ReplayRules): void {
    this.#wanted = rules;
    if (rules === 'then' || this.#told.has(rules)) this.#rules = rules;
    if (rules === 'then') return;
    this.#asked = rules;
    if (!this.#told.has(rules) && this.#reruns.get(rules)?.state.name !== 'working') this.#startRerun(rules);
  }

  #startRerun(rules: Rerun): void {
    for (const before of this.#reruns.values()) before.stop();
    this.#reruns.get(rules)?.close();
    const rerun = new RerunRecord(this.record, this.#parts, rules === 'hindsight');
    this.#reruns.set(rules, rerun);
    void rerun.work(() => {
      const { reader } = rerun;
      if (!reader || this.#told.has(rules)) return;
      const differences = differencesOf(episodesOf(this.record.transitions()), episodesOf(reader.transitions()));
      this.#told.set(rules, {
        shown: new ShownThen(this.layout, this.record, reader, rules === 'hindsight'),
        times: reader.pictureTimes(),
        differences,
      });
      if (this.#wanted === rules) this.#rules = rules;
      this.#show(this.#shownWallMs);
    });
  }

  #show(wallMs: number): void {
    const picture = (this.#telling?.shown ?? this.#then).at(this.#atMs);
    if (!picture) return;
    this.#shownSecond = Math.floor(this.#atMs / 1_000);
    this.#shownWallMs = wallMs;
    this.#latest = { picture, feed: this.#feed.at(picture.atMs), replay: this.state };
    this.#parts.show(this.#latest.picture, this.#latest.feed, this.#latest.replay);
  }
}

const KINDS: Readonly<Record<Difference['kind'], string>> = {
  'only-then': "was flagged then; today's rules would not flag it",
  'only-today': "today's rules would flag it; nothing was shown then",
  'other-time': 'flagged at another time',
  'other-cause': 'called by another name',
  'other-place': 'pointed to another place first',
  'other-priority': 'given another priority',
  'other-end': 'called over at another time',
};

function wordsOf({ kind, atMs, then, today }: Difference): ReplayDifference {
  const told = (episode: Episode | null): string | null => {
    if (!episode) return null;
    const time = kind === 'other-end' ? episode.clearedMs : episode.raisedMs;
    return `${episode.verdict.headline} (${episode.priority}${time === null ? ', not over' : `, ${new Date(time).toISOString().slice(11, 19)} UTC`})`;
  };
  return { atMs, words: KINDS[kind], then: told(then), today: told(today) };
}
