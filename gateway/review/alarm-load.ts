/**
 * What the alarms of a run asked of people, against what the standard says that people can bear.
 *
 * In: episodes, beginning and end. Out: counts and rates, with the targets of config/alarm-targets.ts. A run of under
 * an hour counts as one.
 */
import { CHATTER_COUNT, CHATTER_MS, PRIORITY_SHARES, STALE_MS } from '../../config/alarm-targets.ts';
import type { RunLoad } from '../../config/wire/review.ts';
import { PRIORITIES, type Episode } from './episodes.ts';
import { median } from './detection.ts';

const TARGETS = { people: null, ...PRIORITY_SHARES } as const;

export function alarmLoad(episodes: readonly Episode[], fromMs: number, toMs: number): RunLoad {
  const hours = Math.max(toMs - fromMs, 1) / 3_600_000;
  const raised = risingTimes(episodes);
  const lags = episodes
    .flatMap(({ raisedMs, acknowledgedMs }) => (acknowledgedMs === null ? [] : [(acknowledgedMs - raisedMs) / 1_000]))
    .sort((a, b) => a - b);
  return {
    alarms: episodes.length,
    hours,
    perHour: episodes.length / Math.max(1, hours),
    worstHour: mostWithin(raised, 3_600_000),
    worstTenMinutes: mostWithin(raised, 600_000),
    priorities: PRIORITIES.map((priority) => {
      const count = episodes.filter((episode) => episode.priority === priority).length;
      return { priority, count, share: episodes.length === 0 ? 0 : count / episodes.length, target: TARGETS[priority] };
    }),
    chattering: [...new Set(episodes.map(({ alarmId }) => alarmId))].filter(
      (id) => mostWithin(risingTimes(episodes.filter(({ alarmId }) => alarmId === id)), CHATTER_MS) >= CHATTER_COUNT,
    ).length,
    stale: episodes.filter(({ raisedMs, goneMs }) => (goneMs ?? toMs) - raisedMs > STALE_MS).length,
    medianAcknowledgeS: median(lags),
    worstAcknowledgeS: lags.at(-1) ?? null,
    neverAcknowledged: episodes.length - lags.length,
  };
}

function risingTimes(episodes: readonly Episode[]): number[] {
  return episodes.map(({ raisedMs }) => raisedMs).sort((a, b) => a - b);
}

/** The most of these rising times that fall within any window of this length. */
function mostWithin(times: readonly number[], windowMs: number): number {
  let most = 0;
  let first = 0;
  times.forEach((time, last) => {
    while (time - times[first]! >= windowMs) first += 1;
    most = Math.max(most, last - first + 1);
  });
  return most;
}
