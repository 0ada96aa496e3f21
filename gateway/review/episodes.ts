/**
 * The alarms of a run as episodes: raised, taken by somebody, over, gone.
 *
 * In: the recorded transitions, in order. Out: one episode from each raising to its going, with the wording it had last
 * and the highest priority it reached. Times in ms on the run's clock; null: not, or not within the record.
 */
import type { Alarm, Picture, Priority, Verdict } from '../../config/wire/wire.ts';

export interface Transition {
  readonly atMs: number;
  readonly alarmId: string;
  readonly became: Alarm['state'] | 'gone';
  readonly alarm: Alarm;
}

export interface Episode {
  readonly alarmId: string;
  readonly verdict: Verdict;
  readonly priority: Priority;
  readonly raisedMs: number;
  readonly acknowledgedMs: number | null;
  readonly acknowledgedBy: string | null;
  /** The trouble was over. */
  readonly clearedMs: number | null;
  /** It left the list. */
  readonly goneMs: number | null;
}

export const PRIORITIES: readonly Priority[] = ['people', 'high', 'medium', 'low'];

type Open = { -readonly [K in keyof Episode]: Episode[K] };

export function episodesOf(transitions: readonly Transition[]): Episode[] {
  const open = new Map<string, Open>();
  const all: Open[] = [];
  for (const { atMs, alarmId, became, alarm } of transitions) {
    let episode = open.get(alarmId);
    // An alarm that had returned and is raised again is another episode.
    if (!episode || (became !== 'gone' && episode.clearedMs !== null && became !== 'returned-unacknowledged')) {
      if (became === 'gone') continue;
      episode = {
        alarmId,
        verdict: alarm.verdict,
        priority: alarm.priority,
        raisedMs: alarm.raisedMs,
        acknowledgedMs: null,
        acknowledgedBy: null,
        clearedMs: null,
        goneMs: null,
      };
      open.set(alarmId, episode);
      all.push(episode);
    }
    take(episode, atMs, became, alarm);
    if (became === 'gone') open.delete(alarmId);
  }
  return all;
}

function take(episode: Open, atMs: number, became: Transition['became'], alarm: Alarm): void {
  episode.verdict = alarm.verdict;
  if (PRIORITIES.indexOf(alarm.priority) < PRIORITIES.indexOf(episode.priority)) episode.priority = alarm.priority;
  if (became === 'acknowledged' && episode.acknowledgedMs === null) {
    episode.acknowledgedMs = atMs;
    episode.acknowledgedBy = alarm.acknowledgedBy;
  }
  if (became === 'returned-unacknowledged') episode.clearedMs = alarm.clearedMs ?? atMs;
  if (became !== 'gone') return;
  episode.goneMs = atMs;
  // One that had returned leaves the list only when somebody takes it.
  if (episode.clearedMs !== null) episode.acknowledgedMs ??= atMs;
  episode.clearedMs ??= atMs;
}

/** A wording sharpens and wavers: an episode goes down under the one that stood on the screen longest. */
export class Wordings {
  readonly #told = new Map<string, Map<string, { seconds: number; verdict: Verdict }>>();

  /** What `picture` showed, until `toMs`. */
  hold(picture: Picture, toMs: number): void {
    for (const { verdict, raisedMs, clearedMs } of picture.alarms) {
      if (clearedMs !== null) continue;
      const key = `${verdict.id} ${raisedMs}`;
      const causes = this.#told.get(key) ?? new Map<string, { seconds: number; verdict: Verdict }>();
      this.#told.set(key, causes);
      const before = causes.get(verdict.cause)?.seconds ?? 0;
      causes.set(verdict.cause, { seconds: before + (toMs - picture.atMs) / 1_000, verdict });
    }
  }

  under(episodes: readonly Episode[]): Episode[] {
    return episodes.map((episode) => {
      const told = [...(this.#told.get(`${episode.alarmId} ${episode.raisedMs}`)?.values() ?? [])];
      const longest = told.reduce<(typeof told)[number] | null>(
        (best, one) => (best === null || one.seconds > best.seconds ? one : best),
        null,
      );
      return longest ? { ...episode, verdict: longest.verdict } : episode;
    });
  }
}
