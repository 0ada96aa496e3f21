/**
 * The state of one line, with the clause that says why.
 *
 * 'As modelled' needs fresh data from the pump and from the line's own end, inside the band, with nothing found on it
 * and every head in its range; `agreement.ts` finds the words. A line none of whose heads has turning pressure has
 * failed; some of them, it is low. A line without a sensor of its own is unknown while it runs.
 */
import { CAUSES } from '../../../../config/causes/causes.ts';
import type { Mode } from '../../../../config/modes.ts';
import type { ChannelPicture, PumpState } from '../../../../config/wire/wire.ts';
import type { HeadStanding } from '../../hydraulics/limits.ts';
import type { Finding } from '../isolation/finding.ts';
import { EMPTY_PA } from '../pump/filling.ts';
import {
  elsewhere,
  fitOfChannel,
  flowTold,
  layTroubles,
  matchWords,
  sideOf,
  type AgreementInputs,
} from './agreement.ts';
import { headsWords, overWords, type Told } from './structure-states.ts';

/** What people ordered and saw. */
interface CrewOrders {
  readonly mode: { readonly name: Mode } | null;
  readonly seenTurningMs: ReadonlyMap<string, number>;
  /** `opening`: of every gate; the one ordered, unless told otherwise. */
  shutByOrder(line: string, opening?: Float64Array): boolean;
}

export interface StateInputs extends AgreementInputs {
  readonly pumpState: PumpState;
  /** A pump turns but makes no pressure. */
  readonly runningDry: boolean;
  /** Next to no flow at high pressure: a dead-head in the making. */
  readonly pinched: boolean;
  /** A pump ran and nobody ordered it to stop. */
  readonly stoppedUnasked: boolean;
  readonly operations: CrewOrders;
}

/** Judgement: a line that a trouble elsewhere costs a twentieth of its pressure is changed by it. */
const STARVED_SHARE = 0.95;

/** Of heads by their modelled pressure; null: nothing can be said. */
type Standings = ReadonlyMap<string, HeadStanding | null>;

export function lineState(line: string, standings: Standings, inputs: StateInputs): Told {
  const { pumpState, operations, layout, boundary } = inputs;
  if (operations.shutByOrder(line)) {
    return operations.shutByOrder(line, boundary.gateOpening) || pumpState !== 'running'
      ? { state: 'shut-by-order', why: 'its gate is shut by order' }
      : { state: 'shut-by-order', why: 'its gate is told shut; its readings do not show it yet' };
  }
  if (pumpState === 'unknown') return { state: 'unknown', why: 'no fresh data from the pump' };
  if (pumpState === 'stopped') {
    return inputs.stoppedUnasked
      ? { state: 'down', why: 'the pump has stopped', dry: true }
      : { state: 'rigged-dry', why: 'rigged, pump not running' };
  }
  if (pumpState === 'dead-head')
    return { state: 'down', why: 'the pump turns against a shut lay: nothing flows', dry: true };
  if (inputs.runningDry) return { state: 'down', why: 'the pump turns but makes no pressure', dry: true };
  const ends = layout.sensors.filter((sensor) => sensor.line === line && sensor.quantity === 'pressure');
  const end = ends.map((sensor) => inputs.channels.get(sensor.id)!).find((channel) => channel.freshness !== 'never');
  if (!end)
    return { state: 'unknown', why: ends.length === 0 ? 'no sensor on this line' : 'nothing heard from its line end' };
  if (end.freshness === 'stale') return { state: 'unknown', why: 'its line end has gone silent' };
  if (end.doubt === 'stuck' || end.doubt === 'out-of-range')
    return { state: 'unknown', why: 'its line-end sensor cannot be trusted' };
  if (pumpState === 'starting') return { state: 'filling', why: 'the lay is filling' };
  if (!inputs.lay.present) return { state: 'unknown', why: silentModel(inputs) };
  return runningState(line, end, standings, inputs);
}

function silentModel({ pinched, operations }: StateInputs): string {
  if (operations.mode?.name === 'filling') return "nothing is judged while 'filling' lasts";
  return pinched
    ? 'next to no flow at the pump: nothing can be judged on it yet'
    : 'nothing can be expected of it without fresh pump readings';
}

function runningState(line: string, end: ChannelPicture, standings: Standings, inputs: StateInputs): Told {
  const own = ownTrouble(line, inputs);
  const fit = fitOfChannel(end.channel, inputs.lay);
  if (own?.cause === 'gate-shut' && !own.fading) return { state: 'down', why: 'its gate looks shut', dry: true };
  if (end.value !== null && end.value < EMPTY_PA && (!own || own.fading || fit.unnamed))
    return { state: 'down', why: 'no pressure at its end', dry: true };
  const others = shareLeft(end.channel, inputs.lay) < STARVED_SHARE ? elsewhere(line, inputs) : null;
  const because = own?.words ?? (others === null ? null : `because of ${others}`);
  const cause = because === null ? '' : `; ${because}`;
  const mine = inputs.layout.heads.filter((head) => head.line === line).map(({ id }) => standings.get(id)!);
  const [low, dry] = ['too-weak', 'no-water'].map((one) => mine.filter((standing) => standing === one).length);
  // Past the end of its range it is at least that: its line is not short of pressure, and nothing else is known of it.
  const isPast = end.doubt === 'over-range' && !own;
  // What reads higher than even the present belief says may be on its way back.
  if (low! + dry! > 0 && fit.unnamed !== 'above' && !isPast) {
    const why = headsWords({ total: mine.length, low: low!, dry: dry! }) + cause;
    return {
      state: low! + dry! === mine.length ? 'down' : 'running-short',
      why,
      ...(because === null ? {} : { because }),
    };
  }
  if (own && !fit.unnamed) return { state: 'changed', why: own.words, because: own.words };
  if (own) return { state: 'unknown', why: `${own.words}, but its end is ${fit.unnamed} what that explains` };
  if (inputs.findings.some(({ subjectKind, subject }) => subjectKind === 'channel' && subject === end.channel))
    return { state: 'unknown', why: 'its line-end sensor reads wrong' };
  if (fit.unnamed)
    return { state: 'unknown', why: `its end is ${fit.unnamed} what it should read; no cause named yet` };
  const over = mine.filter((standing) => standing === 'too-strong' || standing === 'breaks').length;
  if (mine.includes('breaks')) return { state: 'running-over', why: overWords(mine.length, over, true) + cause };
  const settled = isPast ? pastRange(end) : settledState(line, end, inputs);
  return over === 0
    ? settled
    : { ...settled, plain: settled.why, why: `${settled.why}; ${overWords(mine.length, over, false)}` };
}

function pastRange({ value, high }: ChannelPicture): Told {
  const least = 'its end is past its gauge: at least as much as that can read';
  return value !== null && high !== null && value > high
    ? { state: 'changed', why: `${least}, which is more than it should be` }
    : { state: 'as-modelled', why: least };
}

/** No head of it is out of its range, and nothing is found on it. */
function settledState(line: string, end: ChannelPicture, inputs: StateInputs): Told {
  const { lately } = fitOfChannel(end.channel, inputs.lay);
  const where = sideOf(end, inputs.lay);
  const others = elsewhere(line, inputs);
  if (where === 'below' || where === 'above' || shareLeft(end.channel, inputs.lay) < STARVED_SHARE) {
    const way = where === 'above' ? 'higher' : 'lower';
    if (others) return { state: 'changed', why: `${way} because of ${others}`, because: `because of ${others}` };
    return lately === null
      ? { state: 'changed', why: `its end is ${where ?? 'not'} its band while the pump or the lay comes to rest` }
      : { state: 'unknown', why: `its end is ${where ?? 'not inside'} its band; no cause named yet` };
  }
  if (where === null) return { state: 'unknown', why: 'nothing can be expected of its end now' };
  const flow = flowTold(inputs);
  if (flow.is === 'unnamed') return { state: 'changed', why: `its end reads as it should, but ${flow.words}` };
  return { state: 'as-modelled', why: matchWords(inputs) };
}

/** What is found on the line, or stands on the list and is not over yet. */
function ownTrouble(
  line: string,
  inputs: StateInputs,
): { readonly cause: Finding['cause']; readonly fading: boolean; readonly words: string } | null {
  const isOwn = ({ subjectKind, subject }: Pick<Finding, 'subjectKind' | 'subject'>): boolean =>
    subjectKind === 'line' && subject === line;
  const found = inputs.findings.find(isOwn);
  if (found) return { cause: found.cause, fading: false, words: troubleWords(found.cause) };
  const left = layTroubles({ findings: [], standing: inputs.standing }).find(isOwn);
  return left ? { cause: left.cause, fading: true, words: `${CAUSES[left.cause].called}: not told as over yet` } : null;
}

function troubleWords(cause: Finding['cause']): string {
  if (cause === 'shock') return 'a pressure shock passed; its light heads are unchecked';
  if (cause === 'unexplained') return 'its readings changed together; no single cause explains them';
  return `most likely cause: ${CAUSES[cause].called}`;
}

/** Pressure that a gauge should hold with what was found, over what it should hold without. */
function shareLeft(channel: string, { gauges, present, healthy }: StateInputs['lay']): number {
  const gauge = gauges.findIndex((candidate) => candidate.sensor.id === channel);
  return gauge < 0 || !present || !healthy ? NaN : present.values[gauge]! / healthy.values[gauge]!;
}
