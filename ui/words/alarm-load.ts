/**
 * Alarm load held against its targets (config/alarm-targets.ts).
 *
 * In: the gateway's books. Out: one row a figure, with its target and whether it is met. Ours on top, Judgement: three
 * an hour, because whoever reads this also runs a pump.
 */
import { ACCEPTABLE_AN_HOUR, MOST_AN_HOUR, MOST_STALE, PRIORITY_SHARES } from '../../config/alarm-targets.ts';
import type { AlarmLoad, Priority } from '../../config/wire/wire.ts';
import type { StateWords } from './marks.ts';

const OURS_AN_HOUR = 3;
/** Judgement: shares of fewer say nothing. */
const FEWEST_FOR_SHARES = 20;

const MET: StateWords = { word: 'within', shape: 'dot', tone: 'calm' };
const NEAR: StateWords = { word: 'over what is acceptable', shape: 'wedge', tone: 'medium' };
const MISSED: StateWords = { word: 'over the most', shape: 'spike', tone: 'high' };
const MANY: StateWords = { word: 'more than should be', shape: 'wedge', tone: 'medium' };
const TOO_FEW: StateWords = { word: 'too few to judge', shape: 'ring', tone: 'calm' };

export interface LoadRow {
  readonly name: string;
  readonly is: string;
  readonly target: string;
  readonly judged: StateWords;
}

export function loadRows(load: AlarmLoad, clock: (atMs: number) => string): LoadRow[] {
  const perHour = (count: number): StateWords =>
    count > MOST_AN_HOUR ? MISSED : count > ACCEPTABLE_AN_HOUR ? NEAR : MET;
  const hours = `at most ${ACCEPTABLE_AN_HOUR}, never over ${MOST_AN_HOUR}; ours ${OURS_AN_HOUR}`;
  return [
    { name: 'Flagged in the last hour', is: String(load.lastHour), target: hours, judged: perHour(load.lastHour) },
    {
      name: 'In the worst hour',
      is: load.worstHourMs === null ? '0' : `${load.worstHour}, up to ${clock(load.worstHourMs)}`,
      target: hours,
      judged: perHour(load.worstHour),
    },
    {
      name: 'Standing for over a day',
      is: String(load.stale),
      target: `at most ${MOST_STALE}`,
      judged: load.stale > MOST_STALE ? MANY : MET,
    },
    {
      name: 'Chattering, three in a minute',
      is: String(load.chattering.length),
      target: 'none',
      judged: load.chattering.length > 0 ? MANY : MET,
    },
    priorityRow(load.byPriority),
  ];
}

function priorityRow(counts: Readonly<Record<Priority, number>>): LoadRow {
  const steps = [counts.low, counts.medium, counts.high + counts.people];
  const all = steps.reduce((sum, count) => sum + count, 0);
  const words = (shares: readonly number[]): string => shares.map((share) => Math.round(100 * share)).join(' / ');
  // Twice the share of high ones, or of medium and high together, is what makes 'high' mean nothing.
  const topHeavy =
    steps[2]! > 2 * PRIORITY_SHARES.high * all ||
    steps[1]! + steps[2]! > 2 * (PRIORITY_SHARES.medium + PRIORITY_SHARES.high) * all;
  return {
    name: 'Low / medium / high and people',
    is: all === 0 ? 'none' : `${words(steps.map((count) => count / all))} % of ${all}`,
    target: `about ${words([PRIORITY_SHARES.low, PRIORITY_SHARES.medium, PRIORITY_SHARES.high])} %`,
    judged: all < FEWEST_FOR_SHARES ? TOO_FEW : topHeavy ? MANY : MET,
  };
}
