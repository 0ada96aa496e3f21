/**
 * What each trouble does: which heads it keeps from turning, on which structures, and when.
 *
 * In: findings, the lay as believed, what the pumps and tanks do. Out: per finding the heads that it costs, or null
 * where nobody can know it now. Method: what heads get now, against the lay with every other trouble in it and without
 * this one, its pumps on their curves at the speed they would have: so a hose that pulls the pump down answers for what
 * the pump no longer gives. The curve's own error drops out, because the difference of two solves is taken off what
 * heads get now. A head that two troubles each keep from turning counts for both; one that only all of them together
 * keep, for the worst. Limits: steady flow; a set of like places is judged by its likeliest.
 */
import type { Layout } from '../../../../config/layout/layout.ts';
import type { Estimate, SupplyPicture } from '../../../../config/wire/wire.ts';
import { GREATEST_SPEED, solveGoverned } from '../../hydraulics/governor.ts';
import type { Settings } from '../../hydraulics/settings.ts';
import type { Candidate } from '../isolation/cause-isolation.ts';
import { headsFedBy } from '../model/feeds.ts';
import type { Finding } from '../isolation/finding.ts';
import type { NetworkMonitor } from '../network-monitor.ts';
import type { PumpWatch } from '../pump/pump-watch.ts';

export interface Consequence {
  /** Heads that do not turn because of it, or will not, of all that are rigged. */
  readonly lost: number;
  readonly heads: number;
  /** Structures that these heads are for, most of theirs first, of all that have heads. */
  readonly structures: readonly {
    readonly label: string;
    readonly priority: number;
    readonly lost: number;
    readonly heads: number;
  }[];
  readonly allStructures: number;
  /** Share of what the structures are worth by their own priority, 0..1. */
  readonly worth: number;
  /** Seconds until then; null: now. */
  readonly inS: Estimate | null;
  /** What would prevent it, how long that takes, and whether it is under way or comes as it always did. */
  readonly refill: { readonly takesS: number; readonly filling: boolean; readonly usual: boolean } | null;
  /** Heads of which nobody can know because of it. */
  readonly unseen: number;
}

export type BelievedLay = Pick<NetworkMonitor, 'expectation' | 'belief' | 'gauges' | 'present' | 'believed'>;

export interface SeenPump extends Pick<PumpWatch, 'pump' | 'findings'> {
  readonly regime: Pick<PumpWatch['regime'], 'state' | 'dryRunningMs' | 'sag'>;
}

export interface ConsequenceInputs {
  readonly nowMs: number;
  readonly findings: readonly Finding[];
  readonly lay: BelievedLay;
  readonly pumps: readonly SeenPump[];
  readonly supplies: readonly SupplyPicture[];
  readonly shutByOrder: (line: string) => boolean;
}

/** Judgement: a nozzle that is shut by half throws no full stream. */
const PLUGGED_SHARE = 0.5;
/** Judgement: what heads get moves slowly once a trouble stands. */
const SOLVED_EVERY_MS = 5_000;
const STOPPED = ['pump-stop', 'dead-head'];
const SENSOR_CAUSES = ['sensor-silent', 'sensor-stuck', 'sensor-drift', 'sensor-swapped'];

/** One trouble as the solver sees it. */
interface Disturbance {
  readonly key: string;
  readonly apply: (settings: Settings) => void;
}

export class Consequences {
  readonly #layout: Layout;
  readonly #fed: ReadonlyMap<string, ReadonlySet<string>>;
  #solved: { readonly atMs: number; readonly keys: string; readonly lost: ReadonlyMap<string, ReadonlySet<string>> } = {
    atMs: -Infinity,
    keys: '',
    lost: new Map(),
  };

  constructor(layout: Layout) {
    this.#layout = layout;
    this.#fed = headsFedBy(layout);
  }

  /** By key of the finding; null: it cannot be known now. */
  of(inputs: ConsequenceInputs): ReadonlyMap<string, Consequence | null> {
    const solved = this.#lostBySolver(inputs);
    return new Map(inputs.findings.map((finding) => [finding.key, this.#of(finding, inputs, solved)]));
  }

  #of(
    finding: Finding,
    inputs: ConsequenceInputs,
    solved: ReadonlyMap<string, ReadonlySet<string>>,
  ): Consequence | null {
    const { cause, subject, facts } = finding;
    const alone = (heads: Iterable<string>): Consequence => this.#consequence(new Set(heads), inputs);
    if (SENSOR_CAUSES.includes(cause)) return { ...alone([]), unseen: this.#unseenBy(finding) };
    if (cause === 'shock' || cause === 'tank-overfull') return alone([]);
    if (cause === 'head-stalled') return alone(finding.places.slice(0, 1).map(({ id }) => id));
    if (cause === 'tank-low' || cause === 'tank-leak') {
      const inS = facts.leftS ?? inputs.supplies.find(({ source }) => source === subject)?.emptyInS ?? null;
      const takesS = this.#layout.sources.find(({ id }) => id === subject)!.refillS;
      return inS
        ? {
            ...alone(this.#fedFrom(subject)),
            inS,
            refill: { takesS, filling: facts.filling ?? false, usual: facts.usual ?? false },
          }
        : alone([]);
    }
    if (cause === 'fuel-low') {
      const takesS = facts.refillS ?? this.#layout.pumps.find(({ id }) => id === subject)!.refillS;
      return {
        ...alone(this.#fed.get(subject) ?? []),
        inS: facts.leftS ?? null,
        refill: { takesS, filling: false, usual: false },
      };
    }
    const isOut = STOPPED.includes(cause) || (cause === 'suction-trouble' && this.#isDry(subject, inputs.pumps));
    if (isOut && !this.#isBacked(subject, inputs.pumps)) return alone(this.#fed.get(subject) ?? []);
    const heads = solved.get(finding.key);
    return heads ? alone(heads) : null;
  }

  #isDry(pump: string, pumps: readonly SeenPump[]): boolean {
    return pumps.some((one) => one.pump.id === pump && one.regime.dryRunningMs !== null);
  }

  /** Whether another pump that feeds some of the same heads runs. */
  #isBacked(pump: string, pumps: readonly SeenPump[]): boolean {
    const own = this.#fed.get(pump) ?? new Set();
    return pumps.some(
      (other) =>
        other.pump.id !== pump &&
        other.pump.inlet === null &&
        other.regime.state === 'running' &&
        [...own].some((head) => this.#fed.get(other.pump.id)?.has(head)),
    );
  }

  #fedFrom(source: string): Set<string> {
    return new Set(
      this.#layout.pumps
        .filter((pump) => pump.source === source && pump.inlet === null)
        .flatMap(({ id }) => [...(this.#fed.get(id) ?? [])]),
    );
  }

  /** Heads whose state is not known without what this finding took. */
  #unseenBy({ subjectKind, places }: Finding): number {
    if (subjectKind === 'site') return this.#layout.heads.length;
    const sensors = this.#layout.sensors.filter(({ id }) => places.some((place) => place.id === id));
    const pumps = sensors.flatMap(({ quantity, mounting }) =>
      quantity === 'pressure' && mounting.kind === 'discharge' ? [mounting.pump] : [],
    );
    const lines = sensors.flatMap(({ line, quantity }) => (line !== null && quantity === 'pressure' ? [line] : []));
    return this.#layout.heads.filter(
      ({ id, line }) => lines.includes(line) || pumps.some((pump) => this.#fed.get(pump)?.has(id)),
    ).length;
  }

  #consequence(lost: ReadonlySet<string>, { shutByOrder }: ConsequenceInputs): Consequence {
    const { heads, structures } = this.#layout;
    const isLost = (head: Layout['heads'][number]): boolean => lost.has(head.id) && !shutByOrder(head.line);
    const rows = structures.flatMap(({ id, label, priority }) => {
      const own = heads.filter(({ structure }) => structure === id);
      return own.length === 0 ? [] : [{ label, priority, lost: own.filter(isLost).length, heads: own.length }];
    });
    const all = rows.reduce((sum, { priority }) => sum + worthOf(priority), 0);
    return {
      lost: heads.filter(isLost).length,
      heads: heads.length,
      structures: rows
        .filter((row) => row.lost > 0)
        .sort((a, b) => b.lost / b.heads - a.lost / a.heads || a.priority - b.priority),
      allStructures: rows.length,
      worth: rows.reduce((sum, row) => sum + (worthOf(row.priority) * row.lost) / row.heads, 0) / Math.max(1, all),
      inS: null,
      refill: null,
      unseen: 0,
    };
  }

  #lostBySolver(inputs: ConsequenceInputs): ReadonlyMap<string, ReadonlySet<string>> {
    const { lay, nowMs, findings, pumps } = inputs;
    const { causes, boundary } = lay.believed;
    if (!lay.present || !boundary) {
      this.#solved = { atMs: -Infinity, keys: '', lost: new Map() };
      return this.#solved.lost;
    }
    const pairs = findings.flatMap((finding) => {
      // An engine that lost speed is told by the pump itself.
      const own = finding.facts.share === undefined ? candidateOf(finding, causes) : undefined;
      return own ? [{ finding, own }] : [];
    });
    const disturbances = [
      ...pairs.map(({ finding: { key }, own }): Disturbance => ({ key, apply: applied(own, lay) })),
      ...atPumps(findings, pumps),
    ];
    const keys = disturbances.map(({ key }) => key).join();
    if (keys !== this.#solved.keys || nowMs >= this.#solved.atMs + SOLVED_EVERY_MS) {
      const lost = keys === '' ? new Map<string, Set<string>>() : lostTo(disturbances, lay, pumps);
      // What is gone or shut is lost whatever its pressure.
      for (const { finding, own } of pairs) {
        const { cause, place } = own.hypothesis;
        const isGone = cause === 'head-off' || (cause === 'plug' && own.size >= PLUGGED_SHARE);
        if (isGone && this.#layout.heads.some(({ id }) => id === place)) lost.get(finding.key)?.add(place);
      }
      this.#solved = { atMs: nowMs, keys, lost };
    }
    return this.#solved.lost;
  }
}

/** First priority counts nine times as much as ninth. */
function worthOf(priority: number): number {
  return 10 - Math.min(9, Math.max(1, priority));
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

/** What pumps do by themselves: one that stands still, one whose engine lost speed. */
function atPumps(findings: readonly Finding[], pumps: readonly SeenPump[]): Disturbance[] {
  return findings.flatMap(({ key, cause, subject, facts }): Disturbance[] => {
    const pump = pumps.findIndex((one) => one.pump.id === subject);
    if (pump < 0) return [];
    if (STOPPED.includes(cause)) return [{ key, apply: (settings) => void (settings.pumpSpeed[pump] = 0) }];
    const { share } = facts;
    if (cause !== 'pump-fade' || share === undefined) return [];
    return [{ key, apply: (settings) => void (settings.pumpSpeed[pump]! *= 1 - share) }];
  });
}

function lostTo(
  disturbances: readonly Disturbance[],
  lay: BelievedLay,
  pumps: readonly SeenPump[],
): Map<string, Set<string>> {
  const { expectation, present } = lay;
  const { layout, network } = expectation;
  const sound = soundSettings(lay, pumps, disturbances);
  const held = Float64Array.from(layout.pumps, (pump) => pump.holdsPa ?? NaN);
  const solved = (set: readonly Disturbance[]): Float64Array | null => {
    const settings = sound();
    for (const { apply } of set) apply(settings);
    const { solution } = solveGoverned(network, settings, held, GREATEST_SPEED, present!.solution);
    return solution.converged ? solution.pressurePa : null;
  };
  const all = solved(disturbances);
  const none = solved([]);
  if (!all || !none) return new Map();
  const nodes = layout.heads.map(({ id }) => network.nodeOfHead.get(id)!);
  const nowPa = nodes.map((node) => present!.solution.pressurePa[node]!);
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
    out.set(
      one.key,
      new Set(short.filter((head) => turns(without, head) || !turns(only, head)).map((head) => layout.heads[head]!.id)),
    );
  }
  const [worst] = [...out.values()].sort((a, b) => b.size - a.size);
  const claimed = new Set([...out.values()].flatMap((heads) => [...heads]));
  for (const head of short) if (!claimed.has(layout.heads[head]!.id)) worst?.add(layout.heads[head]!.id);
  return out;
}

/** Makes the lay with nothing wrong in it at this level and these gates, its pumps on their curves. */
function soundSettings(
  { expectation, belief, believed }: BelievedLay,
  pumps: readonly SeenPump[],
  disturbances: readonly Disturbance[],
): () => Settings {
  const boundary = believed.boundary!;
  const stopped = (pump: string): boolean =>
    disturbances.some(({ key }) => STOPPED.some((cause) => key === `${cause}:${pump}`));
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
