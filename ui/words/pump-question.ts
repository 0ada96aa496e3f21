/**
 * Is it the pump, the water or the hose lay? One clause each, from the split that the gateway makes: discharge against
 * the pump's curve at measured flow and speed, suction against level and losses, flow and line ends against the lay at
 * measured discharge. And what the pump and its suction are said to do, the same on every screen.
 *
 * In: layout, pump, picture, words for amounts. Out: three clauses, each fine, wrong or unknown. What has no fresh
 * reading or nothing to be compared with is unknown and says why; a standing alarm about a part makes it wrong. What
 * only runs out (tank, fuel) explains nothing that the pump does now: it is said beside.
 */
import { CAUSES } from '../../config/causes/causes.ts';
import type { Layout, Mounting, Pump, Quantity } from '../../config/layout/layout.ts';
import type { Alarm, ChannelPicture, Picture, PumpPicture } from '../../config/wire/wire.ts';
import { judgeSuction, npshAvailableM } from '../../gateway/core/hydraulics/cavitation.ts';
import { NO_FLOW_SHARE, WATER_C } from '../../gateway/core/hydraulics/limits.ts';
import { SUCTIONS } from './standings.ts';
import type { StateWords } from './marks.ts';
import { PUMP_STATES, sideOfReading, standing } from './states.ts';
import { capital } from './sentence.ts';

export type Part = 'pump' | 'water' | 'network';
export type Judged = 'fine' | 'wrong' | 'unknown';

export interface Clause {
  readonly part: Part;
  readonly judged: Judged;
  readonly words: string;
  /** Of the hose lay: the pump turns against it with no flow. */
  readonly isShut?: true;
}

export const PART_WORDS: Record<Part, string> = { pump: 'Pump', water: 'Water', network: 'Hose lay' };
const PART_NAMES: Record<Part, string> = { pump: 'the pump', water: 'the water', network: 'the hose lay' };
export const JUDGED: Record<Judged, StateWords> = {
  fine: { word: 'as expected', shape: 'dot', tone: 'calm' },
  wrong: { word: 'looks wrong', shape: 'spike', tone: 'high' },
  unknown: { word: 'cannot be judged', shape: 'query', tone: 'unsure' },
};

const SHUT_LAY = 'The pump turns against a shut lay: stay away.';
const NOT_JUDGED = 'Not judged while it runs with no flow.';
export const NO_FLOW: StateWords = { word: 'turning, next to no flow', shape: 'wedge', tone: 'high' };
const NO_PRESSURE: StateWords = { word: 'turning, makes no pressure', shape: 'cross', tone: 'high' };
const SUCTION_TROUBLE: StateWords = { word: 'suction trouble', shape: 'spike', tone: 'high' };
const SUCTION_OFF: StateWords = { word: 'suction not as it should be', shape: 'wedge', tone: 'medium' };

type Amount = (value: number | null, what: 'pressure' | 'flow') => string;

const standingIn = (picture: Picture): Alarm[] =>
  [...picture.alarms, ...picture.setAside].filter(({ clearedMs }) => clearedMs === null);

function hasSuctionTrouble(pump: string, picture: Picture): boolean {
  return standingIn(picture).some(
    ({ verdict }) => CAUSES[verdict.cause].moves === 'suction' && verdict.subject === pump,
  );
}

/** What the pump does: 'running' only while water runs through it. */
export function pumpNow(pump: Pump, picture: Picture | null): StateWords {
  const now = picture?.pumps.find((one) => one.pump === pump.id);
  if (!picture || now?.state !== 'running') return PUMP_STATES[now?.state ?? 'unknown'];
  if (!isFlowless(pump, now)) return PUMP_STATES.running;
  return hasSuctionTrouble(pump.id, picture) ? NO_PRESSURE : NO_FLOW;
}

export function isFlowless(pump: Pump, { flowM3s }: Pick<PumpPicture, 'flowM3s'>): boolean {
  return flowM3s !== null && flowM3s < NO_FLOW_SHARE * pump.kit.curveFlowM3s.at(-1)!;
}

/** How far its suction is from cavitation, m of head there; null: it does not run, or nothing fresh says. */
export function suctionNow(
  layout: Layout,
  pump: Pump,
  picture: Picture,
): { readonly state: StateWords; readonly marginM: number } | null {
  const channel = channelAt(layout, pump, picture, 'pressure', 'suction');
  const state = picture.pumps.find((one) => one.pump === pump.id)?.state;
  const turns = state === 'running' || state === 'starting' || state === 'dead-head';
  if (!turns || !isHeard(channel)) return null;
  const marginM = npshAvailableM(channel.value, layout.altitudeM, WATER_C);
  const where = standing(channel, picture.outside);
  return {
    marginM,
    state: hasSuctionTrouble(pump.id, picture)
      ? SUCTION_TROUBLE
      : where === 'below' || where === 'above'
        ? SUCTION_OFF
        : SUCTIONS[judgeSuction(marginM, pump.kit.npshRequiredM)],
  };
}

/** What can be taken for now. */
export function isHeard(channel: ChannelPicture | null): channel is ChannelPicture & { value: number } {
  return (
    channel !== null &&
    channel.value !== null &&
    (channel.freshness === 'fresh' || channel.freshness === 'late') &&
    channel.doubt === null
  );
}

export function pumpClauses(layout: Layout, pump: Pump, picture: Picture, amount: Amount): Clause[] {
  const alarms = standingIn(picture);
  const about = (fits: (verdict: Alarm['verdict']) => boolean): string[] =>
    alarms.filter(({ verdict }) => fits(verdict)).map(({ verdict }) => verdict.headline);
  const now = picture.pumps.find((one) => one.pump === pump.id);
  const judge = (
    part: Part,
    flagged: readonly string[],
    [quantity, kind]: readonly [Quantity, Mounting['kind']],
    missing: string,
    as: string,
  ): Clause => {
    if (flagged.length > 0) return { part, judged: 'wrong', words: `${flagged.join('; ')}.` };
    const told = channelAt(layout, pump, picture, quantity, kind);
    return judgeReading(part, now?.state ?? 'unknown', told, picture.outside, { missing, as, amount });
  };
  const runsOut = (subject: string): string =>
    about((verdict) => verdict.subject === subject && CAUSES[verdict.cause].moves === 'store')
      .map((headline) => ` ${headline}.`)
      .join('');
  const flagged = {
    pump: about(({ subject, cause }) => subject === pump.id && CAUSES[cause].moves === 'pump'),
    water: about(({ subject, cause }) => subject === pump.id && CAUSES[cause].moves === 'suction'),
    network: about(isOfLay),
  };
  const missing = {
    pump: 'No gauge at its discharge.',
    water: 'No gauge at its suction: only the level can tell.',
    network: 'No flow meter: only the line ends can tell.',
  };
  const atPump = judge('pump', flagged.pump, ['pressure', 'discharge'], missing.pump, 'at this flow and speed');
  const suction = judge(
    'water',
    flagged.water,
    ['pressure', 'suction'],
    missing.water,
    'at suction, by level and flow',
  );
  const lay = judge('network', flagged.network, ['flow', 'pump'], missing.network, 'at this discharge pressure');
  const withRunsOut = { ...atPump, words: atPump.words + runsOut(pump.id) };
  const water = { ...suction, words: suction.words + runsOut(pump.source) };
  const deadheads = about(({ subject, cause }) => subject === pump.id && CAUSES[cause].moves === 'shut-lay');
  if (deadheads.length > 0 || now?.state === 'dead-head')
    return [
      flagged.pump.length > 0
        ? withRunsOut
        : { part: 'pump', judged: 'unknown', words: `${NOT_JUDGED}${runsOut(pump.id)}` },
      water,
      shutLay([...deadheads, ...flagged.network]),
    ];
  return [
    withRunsOut,
    water,
    now && isFlowless(pump, now) && lay.judged === 'fine'
      ? { part: 'network', judged: 'unknown', words: 'Next to no flow at the pump: nothing can be judged on it.' }
      : withEnds(lay, layout, picture, now?.state === 'running'),
  ];
}

/** Gates are the usual cause; no gauge here tells them from a kink or a plug near the pump. */
function shutLay(headlines: readonly string[]): Clause {
  return {
    part: 'network',
    judged: 'wrong',
    isShut: true,
    words: [SHUT_LAY, 'Gates shut, or a hose blocked.', ...headlines.map((headline) => `${headline}.`)].join(' '),
  };
}

function isOfLay({ subjectKind, cause }: Alarm['verdict']): boolean {
  return subjectKind === 'line' || subjectKind === 'trunk' || (subjectKind === 'site' && cause === 'unexplained');
}

/** The lay is no better than its line ends. */
function withEnds(lay: Clause, layout: Layout, picture: Picture, runs: boolean): Clause {
  if (lay.judged === 'wrong' || !runs) return lay;
  const off = layout.sensors
    .filter(({ line, quantity }) => line !== null && quantity === 'pressure')
    .flatMap(({ id, label }) => {
      const end = picture.channels.find(({ channel }) => channel === id) ?? null;
      const where = isHeard(end) ? standing(end, picture.outside) : null;
      return where === 'below' || where === 'above' ? [`${label} ${where} its band`] : [];
    });
  if (off.length > 0) return { ...lay, judged: 'wrong', words: `${lay.words} ${capital(off.slice(0, 3).join(', '))}.` };
  return lay;
}

function judgeReading(
  part: Part,
  state: PumpPicture['state'],
  told: ChannelPicture | null,
  outside: Picture['outside'],
  { missing, as, amount }: { readonly missing: string; readonly as: string; readonly amount: Amount },
): Clause {
  const unknown = (words: string): Clause => ({ part, judged: 'unknown', words });
  if (state === 'stopped') return unknown('Pump stopped: nothing to compare.');
  if (!told) return unknown(missing);
  if (told.freshness === 'stale' || told.freshness === 'never') return unknown('No recent reading.');
  if (told.doubt) return unknown(`Its gauge is in doubt (${told.doubt}).`);
  const where = standing(told, outside);
  if (state === 'starting') return unknown('The lay is filling: not compared yet.');
  if (where === null) return unknown('No expected value now.');
  const what = told.quantity === 'flow' ? 'flow' : 'pressure';
  const figures = `${amount(told.value, what)}, expected ${amount(told.low, what)} to ${amount(told.high, what)} ${as}`;
  const late =
    told.freshness === 'late'
      ? '; the reading is late'
      : where === 'inside' && sideOfReading(told) !== 'inside'
        ? '; its last reading alone is outside'
        : '';
  const side = where === 'inside' ? '' : where === 'below' ? 'Too low: ' : 'Too high: ';
  return { part, judged: where === 'inside' ? 'fine' : 'wrong', words: `${side}${figures}${late}.` };
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

/** The answer in one line. Of a pump that turns against a shut lay it never sends anybody to look at the pump. */
export function pumpAnswer(clauses: readonly Clause[]): string {
  const isShut = clauses.some((clause) => clause.isShut);
  const named = (judged: Judged): string[] =>
    clauses.filter((clause) => clause.judged === judged).map(({ part }) => PART_NAMES[part]);
  const wrong = named('wrong');
  const unknown = named('unknown').filter((name) => !isShut || name !== PART_NAMES.pump);
  const list = (parts: readonly string[]): string =>
    parts.length > 1 ? `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}` : (parts[0] ?? '');
  const first =
    isShut && wrong.length === 1
      ? 'It looks like the hose lay (gates shut), not the pump.'
      : wrong.length > 0
        ? `It looks like ${list(wrong)}.`
        : unknown.length === clauses.length
          ? 'Nothing here can be judged now.'
          : 'Nothing stands out.';
  const told = isShut ? `${first} ${SHUT_LAY}` : first;
  return unknown.length > 0 && unknown.length < clauses.length
    ? `${told} ${capital(list(unknown))} cannot be judged.`
    : told;
}
