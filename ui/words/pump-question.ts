/**
 * Is it the pump, the water or the network? One clause each, from the split that the gateway makes: discharge against
 * the pump's curve at measured flow and speed, suction against level and losses, flow against the network at measured
 * discharge.
 *
 * In: layout, pump, picture, words for amounts. Out: three clauses, each fine, wrong or unknown. What has no fresh
 * reading or nothing to be compared with is unknown and says why; a standing alarm about a part makes it wrong.
 */
import type { Layout, Mounting, Pump, Quantity } from '../../config/layout.ts';
import type { Alarm, Cause, ChannelPicture, Picture } from '../../config/wire.ts';
import type { StateWords } from './states.ts';
import { standing } from './states.ts';

export const PARTS = ['pump', 'water', 'network'] as const;
export type Part = (typeof PARTS)[number];
export type Judged = 'fine' | 'wrong' | 'unknown';

export interface Clause {
  readonly part: Part;
  readonly judged: Judged;
  readonly words: string;
}

export const PART_WORDS: Record<Part, string> = { pump: 'Pump', water: 'Water', network: 'Network' };
export const JUDGED: Record<Judged, StateWords> = {
  fine: { word: 'as expected', shape: 'dot', tone: 'calm' },
  wrong: { word: 'looks wrong', shape: 'spike', tone: 'high' },
  unknown: { word: 'cannot be judged', shape: 'query', tone: 'unsure' },
};

const PUMP_CAUSES: readonly Cause[] = ['pump-fade', 'pump-stop', 'dead-head', 'fuel-low'];

type Amount = (value: number | null, what: 'pressure' | 'flow') => string;

export function pumpClauses(layout: Layout, pump: Pump, picture: Picture, amount: Amount): Clause[] {
  const standingAlarms = picture.alarms.filter(({ clearedMs }) => clearedMs === null);
  const about = (fits: (alarm: Alarm) => boolean): string[] =>
    standingAlarms.filter(fits).map(({ verdict }) => verdict.headline);
  const channel = (quantity: Quantity, kind: Mounting['kind']): ChannelPicture | null =>
    channelAt(layout, pump, picture, quantity, kind);
  const { state } = picture.pumps.find((one) => one.pump === pump.id) ?? { state: 'unknown' };
  const judge = (
    part: Part,
    flagged: readonly string[],
    told: ChannelPicture | null,
    what: 'pressure' | 'flow',
    missing: string,
    as: string,
  ): Clause => {
    if (flagged.length > 0) return { part, judged: 'wrong', words: `${flagged.join('; ')}.` };
    if (state === 'stopped') return { part, judged: 'unknown', words: 'The pump does not run: nothing to compare.' };
    if (!told) return { part, judged: 'unknown', words: missing };
    if (told.freshness === 'stale' || told.freshness === 'never')
      return { part, judged: 'unknown', words: 'Nothing fresh is heard from its gauge.' };
    if (told.doubt) return { part, judged: 'unknown', words: `Its gauge is in doubt (${told.doubt}).` };
    const where = standing(told);
    if (where === null)
      return {
        part,
        judged: 'unknown',
        words: state === 'starting' ? 'The lay is filling: not compared yet.' : 'Nothing can be expected of it now.',
      };
    const figures = `${amount(told.value, what)}, expected ${amount(told.low, what)} to ${amount(told.high, what)} ${as}`;
    return {
      part,
      judged: where === 'inside' ? 'fine' : 'wrong',
      words: `${where === 'inside' ? '' : where === 'below' ? 'Too low: ' : 'Too high: '}${figures}.`,
    };
  };
  return [
    judge(
      'pump',
      about(({ verdict }) => verdict.subject === pump.id && PUMP_CAUSES.includes(verdict.cause)),
      channel('pressure', 'discharge'),
      'pressure',
      'No gauge at its discharge.',
      'at this flow and speed',
    ),
    judge(
      'water',
      about(
        ({ verdict }) =>
          verdict.subject === pump.source || (verdict.subject === pump.id && verdict.cause === 'suction-trouble'),
      ),
      channel('pressure', 'suction'),
      'pressure',
      'No gauge at its suction: only the level can tell.',
      'at suction, by level and flow',
    ),
    judge(
      'network',
      about(
        ({ verdict }) =>
          verdict.subjectKind === 'line' ||
          verdict.subjectKind === 'trunk' ||
          (verdict.subjectKind === 'site' && verdict.cause === 'unexplained'),
      ),
      channel('flow', 'pump'),
      'flow',
      'No flow meter: only the line ends can tell.',
      'at this discharge pressure',
    ),
  ];
}

export function channelAt(
  layout: Layout,
  pump: Pump,
  picture: Picture,
  quantity: Quantity,
  kind: Mounting['kind'],
): ChannelPicture | null {
  const sensor = layout.sensors.find(
    (one) =>
      one.quantity === quantity &&
      one.mounting.kind === kind &&
      'pump' in one.mounting &&
      one.mounting.pump === pump.id,
  );
  return (sensor && picture.channels.find((one) => one.channel === sensor.id)) ?? null;
}

/** The answer in one line. */
export function pumpAnswer(clauses: readonly Clause[]): string {
  const named = (judged: Judged): string[] =>
    clauses.filter((clause) => clause.judged === judged).map(({ part }) => `the ${part}`);
  const wrong = named('wrong');
  const unknown = named('unknown');
  const list = (parts: readonly string[]): string =>
    parts.length > 1 ? `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}` : (parts[0] ?? '');
  const first =
    wrong.length > 0
      ? `It looks like ${list(wrong)}.`
      : unknown.length === clauses.length
        ? 'Nothing here can be judged now.'
        : 'Nothing stands out.';
  return unknown.length > 0 && unknown.length < clauses.length
    ? `${first} ${list(unknown)[0]!.toUpperCase()}${list(unknown).slice(1)} cannot be judged.`
    : first;
}
