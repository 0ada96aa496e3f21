/**
 * Which heads each of several disturbances keeps from turning.
 *
 * In: findings, the lay as believed, what the pumps do. Out: heads by disturbance. Method: what heads get now, against
 * the lay with every other disturbance in it and without this one, its pumps on their curves at the speed they would
 * have: so a hose that pulls the pump down answers for what the pump no longer gives. The curve's own error drops out,
 * because the difference of two solves is taken off what heads get now. A head that two disturbances each keep from
 * turning counts for both; one that only all of them together keep, for the worst. Limit: steady flow.
 */
import { CAUSE_IDS, CAUSES } from '../../../../config/causes/causes.ts';
import { GREATEST_SPEED, solveGoverned } from '../../hydraulics/governor.ts';
import type { Settings } from '../../hydraulics/settings.ts';
import { keyOf } from '../causes/hypothesis.ts';
import type { Candidate } from '../isolation/candidate.ts';
import type { Finding } from '../isolation/finding.ts';
import type { PumpWatch } from '../pump/pump-watch.ts';
import type { MonitoredLay } from './monitored-lay.ts';

export type BelievedLay = Pick<MonitoredLay, 'expectation' | 'belief' | 'gauges' | 'present' | 'believed'>;

export interface SeenPump extends Pick<PumpWatch, 'pump' | 'findings'> {
  readonly regime: Pick<PumpWatch['regime'], 'state' | 'dryRunningMs' | 'sag'>;
}

/** Causes of a pump that stands still or gives nothing. */
const STOPPED = CAUSE_IDS.filter((cause) => CAUSES[cause].costs === 'pump-out');
/** Judgement: a nozzle that is shut by half throws no full stream. */
const PLUGGED_SHARE = 0.5;

/** One trouble as the solver sees it. */
export interface Disturbance {
  readonly key: string;
  /** A head that is gone or shut: lost whatever its pressure. */
  readonly takes: string | null;
  readonly apply: (settings: Settings) => void;
}

/** The candidate that a finding was made of; one without a name leans on the best there was. */
function candidateOf({ cause, subject }: Finding, causes: readonly Candidate[]): Candidate | undefined {
  return causes.find(
    ({ hypothesis }) => hypothesis.subject === subject && (hypothesis.cause === cause || cause === 'unexplained'),
  );
}

function applied({ hypothesis, size }: Candidate, lay: BelievedLay): Disturbance['apply'] {
  const { effect } = hypothesis;
  if (effect.kind === 'network') return (settings) => effect.apply(settings, size);
  if (effect.kind !== 'shift') return () => undefined;
  // What a pump lost of its discharge, as the speed at which its curve gives no more.
  const moved = (kind: 'rise' | 'suction'): number =>
    effect.moves.reduce((sum, { gauge, unit }) => sum + (lay.gauges[gauge]!.kind === kind ? size * unit : 0), 0);
  const lostPa = Math.max(0, -(moved('rise') || moved('suction')));
  const { pump } = lay.gauges[effect.moves[0]!.gauge]!;
  const givesPa = Math.max(1, lay.believed.boundary!.dischargePa[pump]!);
  const share = Math.sqrt(givesPa / (givesPa + lostPa));
  return (settings) => {
    settings.pumpSpeed[pump]! *= share;
  };
}

/** Causes in the lay, and what pumps do by themselves. */
export function disturbancesOf(
  findings: readonly Finding[],
  lay: BelievedLay,
  pumps: readonly SeenPump[],
): readonly Disturbance[] {
  const { causes } = lay.believed;
  const inLay = findings.flatMap((finding): Disturbance[] => {
    // An engine that lost speed is told by the pump itself.
    const own = finding.facts.share === undefined ? candidateOf(finding, causes) : undefined;
    return own ? [{ key: finding.key, takes: takenBy(own), apply: applied(own, lay) }] : [];
  });
  return [...inLay, ...atPumps(findings, pumps)];
}

function takenBy({ hypothesis: { cause, place }, size }: Candidate): string | null {
  return cause === 'head-off' || (cause === 'plug' && size >= PLUGGED_SHARE) ? place : null;
}

/** What pumps do by themselves: one that stands still, one whose engine lost speed. */
function atPumps(findings: readonly Finding[], pumps: readonly SeenPump[]): Disturbance[] {
  return findings.flatMap(({ key, cause, subject, facts }): Disturbance[] => {
    const pump = pumps.findIndex((one) => one.pump.id === subject);
    if (pump < 0) return [];
    if (STOPPED.includes(cause))
      return [{ key, takes: null, apply: (settings) => void (settings.pumpSpeed[pump] = 0) }];
    const { share } = facts;
    if (cause !== 'pump-fade' || share === undefined) return [];
    return [{ key, takes: null, apply: (settings) => void (settings.pumpSpeed[pump]! *= 1 - share) }];
  });
}

/** By key of the disturbance; one whose lay the model cannot solve is missing. */
export function lostHeads(
  disturbances: readonly Disturbance[],
  lay: BelievedLay,
  pumps: readonly SeenPump[],
): ReadonlyMap<string, ReadonlySet<string>> {
  if (disturbances.length === 0) return new Map();
  const { layout, network } = lay.expectation;
  const solved = solverOf(disturbances, lay, pumps);
  const all = solved(disturbances);
  const none = solved([]);
  if (!all || !none) return new Map();
  const nodes = layout.heads.map(({ id }) => network.nodeOfHead.get(id)!);
  const nowPa = nodes.map((node) => lay.present!.solution.pressurePa[node]!);
  const turns = (pressurePa: Float64Array, head: number): boolean =>
    nowPa[head]! + pressurePa[nodes[head]!]! - all[nodes[head]!]! >= layout.heads[head]!.kit.turnPaMin;
  const short = layout.heads.flatMap(({ kit }, head) =>
    nowPa[head]! < kit.turnPaMin && turns(none, head) ? [head] : [],
  );
  const out = new Map<string, Set<string>>();
  for (const one of disturbances) {
    const without = solved(disturbances.filter((other) => other !== one));
    const only = solved([one]);
    if (!without || !only) continue;
    const lost = short.filter((head) => turns(without, head) || !turns(only, head));
    out.set(one.key, new Set(lost.map((head) => layout.heads[head]!.id)));
  }
  giveToWorst(
    out,
    short.map((head) => layout.heads[head]!.id),
  );
  for (const { key, takes } of disturbances)
    if (takes !== null && layout.heads.some(({ id }) => id === takes)) out.get(key)?.add(takes);
  return out;
}

/** Heads that only all disturbances together keep from turning count for the worst of them. */
function giveToWorst(lost: ReadonlyMap<string, Set<string>>, short: readonly string[]): void {
  const [worst] = [...lost.values()].sort((a, b) => b.size - a.size);
  const claimed = new Set([...lost.values()].flatMap((heads) => [...heads]));
  for (const head of short) if (!claimed.has(head)) worst?.add(head);
}

/** Pressures of the lay with a set of disturbances in it; null: no solution. */
function solverOf(
  all: readonly Disturbance[],
  lay: BelievedLay,
  pumps: readonly SeenPump[],
): (set: readonly Disturbance[]) => Float64Array | null {
  const { layout, network } = lay.expectation;
  const sound = soundSettings(lay, pumps, all);
  const held = Float64Array.from(layout.pumps, (pump) => pump.holdsPa ?? NaN);
  return (set) => {
    const settings = sound();
    for (const { apply } of set) apply(settings);
    const { solution } = solveGoverned(network, settings, held, GREATEST_SPEED, lay.present!.solution);
    return solution.converged ? solution.pressurePa : null;
  };
}

/** Makes the lay with nothing wrong in it at this level and these gates, its pumps on their curves. */
function soundSettings(
  { expectation, belief, believed }: BelievedLay,
  pumps: readonly SeenPump[],
  disturbances: readonly Disturbance[],
): () => Settings {
  const boundary = believed.boundary!;
  const stopped = (pump: string): boolean =>
    disturbances.some(({ key }) => STOPPED.some((cause) => key === keyOf(cause, pump)));
  return () => {
    const settings = expectation.settings(belief, boundary);
    pumps.forEach(({ pump, regime, findings }, index) => {
      const ratio = boundary.speedRatio[index]!;
      const slid = findings.some(({ cause }) => cause === 'pump-fade') ? (regime.sag?.share ?? 0) : 0;
      settings.dischargePa[index] = NaN;
      if (stopped(pump.id)) settings.pumpSpeed[index] = pump.speed;
      else if (settings.pumpSpeed[index]! > 0)
        settings.pumpSpeed[index] = Number.isFinite(ratio) ? ratio / (1 - slid) : pump.speed;
    });
    return settings;
  };
}
