/**
 * By whose rules a replay is shown: as shown then, or as today's rules would show it, which takes a re-run first.
 *
 * In: the record, what the screen asks for. Out: the rules in force, how far a re-run is, what it found different. A
 * re-run works beside the replay and can be stopped; its rules come into force as soon as it is done, if they are still
 * what the screen asked for last.
 */
import type { ReplayDifference, ReplayRules, ReplayState } from '../../config/wire/replay.ts';
import type { RunReader } from '../journal/run-reader.ts';
import { episodesOf, type Episode } from '../review/episodes.ts';
import { differencesOf, type Difference } from './differences.ts';
import { RerunRecord, type RerunParts } from './record/rerun-record.ts';
import { ShownThen } from './shown-then.ts';

type Rerun = Exclude<ReplayRules, 'then'>;

/** A finished re-run. */
interface Telling {
  readonly shown: ShownThen;
  readonly times: readonly number[];
  readonly differences: readonly Difference[];
}

export class Rules {
  readonly #parts: RerunParts;
  readonly #record: RunReader;
  readonly #done: () => void;
  readonly #reruns = new Map<Rerun, RerunRecord>();
  readonly #told = new Map<Rerun, Telling>();
  #inForce: ReplayRules = 'then';
  /** What the screen asked for last; it is shown as soon as its re-run is done. */
  #wanted: ReplayRules = 'then';
  #asked: Rerun = 'today';

  /** `done`: a re-run has been finished. */
  constructor(parts: RerunParts, record: RunReader, done: () => void) {
    this.#parts = parts;
    this.#record = record;
    this.#done = done;
  }

  get inForce(): ReplayRules {
    return this.#inForce;
  }

  /** What they show, with the times at which it changes; null: as shown then. */
  get telling(): Pick<Telling, 'shown' | 'times'> | null {
    return this.#inForce === 'then' ? null : (this.#told.get(this.#inForce) ?? null);
  }

  get rerun(): ReplayState['rerun'] {
    const told = this.#told.get(this.#asked);
    if (told) return { name: 'done', differences: told.differences.length };
    const state = this.#reruns.get(this.#asked)?.state;
    return state === undefined || state.name === 'done' ? { name: 'none' } : state;
  }

  /** Of the re-run asked for last, in words; null: none was, or it is not done. */
  get differences(): readonly ReplayDifference[] | null {
    return this.#told.get(this.#asked)?.differences.map(wordsOf) ?? null;
  }

  choose(rules: ReplayRules): void {
    this.#wanted = rules;
    if (rules === 'then' || this.#told.has(rules)) this.#inForce = rules;
    if (rules === 'then') return;
    this.#asked = rules;
    if (!this.#told.has(rules) && this.#reruns.get(rules)?.state.name !== 'working') this.#start(rules);
  }

  stop(): void {
    for (const rerun of this.#reruns.values()) rerun.stop();
    this.#wanted = this.#inForce;
  }

  close(): void {
    for (const rerun of this.#reruns.values()) rerun.close();
  }

  #start(rules: Rerun): void {
    for (const before of this.#reruns.values()) before.stop();
    this.#reruns.get(rules)?.close();
    const rerun = new RerunRecord(this.#record, this.#parts, rules === 'hindsight');
    this.#reruns.set(rules, rerun);
    void rerun.work(() => {
      const { reader } = rerun;
      if (!reader || this.#told.has(rules)) return;
      this.#told.set(rules, {
        shown: new ShownThen(this.#parts.layout, this.#record, reader, rules === 'hindsight'),
        times: reader.pictureTimes(),
        differences: differencesOf(episodesOf(this.#record.transitions()), episodesOf(reader.transitions())),
      });
      if (this.#wanted === rules) this.#inForce = rules;
      this.#done();
    });
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
    return (
      `${episode.verdict.headline} ` +
      `(${episode.priority}${time === null ? ', not over' : `, ${new Date(time).toISOString().slice(11, 19)} UTC`})`
    );
  };
  return { atMs, words: KINDS[kind], then: told(then), today: told(today) };
}
