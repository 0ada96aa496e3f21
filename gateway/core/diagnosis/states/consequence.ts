/**
 * What each trouble does: which heads it keeps from turning, on which structures, and when.
 *
 * In: findings, the lay as believed, what the pumps and tanks do. Out: per finding the heads that it costs, or null
 * where nobody can know it now. What cuts off the water costs every head that it feeds; for the rest the lay is solved
 * with and without it (lost-heads.ts). Limits: steady flow; a set of like places is judged by its likeliest.
 */
import { CAUSES } from '../../../../config/causes/causes.ts';
import type { Layout } from '../../../../config/layout/layout.ts';
import type { Estimate, SupplyPicture } from '../../../../config/wire/wire.ts';
import type { Finding } from '../isolation/finding.ts';
import { headsFedBy } from '../model/feeds.ts';
import { disturbancesOf, lostHeads, type BelievedLay, type SeenPump } from './lost-heads.ts';

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

export interface ConsequenceInputs {
  readonly nowMs: number;
  readonly findings: readonly Finding[];
  readonly lay: BelievedLay;
  readonly pumps: readonly SeenPump[];
  readonly supplies: readonly SupplyPicture[];
  readonly shutByOrder: (line: string) => boolean;
}

/** Judgement: what heads get moves slowly once a trouble stands. */
const SOLVED_EVERY_MS = 5_000;

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
    const { costs } = CAUSES[cause];
    const alone = (heads: Iterable<string>): Consequence => this.#consequence(new Set(heads), inputs);
    if (costs === 'unseen') return { ...alone([]), unseen: this.#unseenBy(finding) };
    if (costs === 'nothing') return alone([]);
    if (costs === 'its-head') return alone(finding.places.slice(0, 1).map(({ id }) => id));
    if (costs === 'until-empty') {
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
    if (costs === 'until-fuel-out') {
      const takesS = facts.refillS ?? this.#layout.pumps.find(({ id }) => id === subject)!.refillS;
      return {
        ...alone(this.#fed.get(subject) ?? []),
        inS: facts.leftS ?? null,
        refill: { takesS, filling: false, usual: false },
      };
    }
    const isOut = costs === 'pump-out' || (costs === 'pump-out-if-dry' && this.#isDry(subject, inputs.pumps));
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
    if (!lay.present || !lay.believed.boundary) {
      this.#solved = { atMs: -Infinity, keys: '', lost: new Map() };
      return this.#solved.lost;
    }
    const disturbances = disturbancesOf(findings, lay, pumps);
    const keys = disturbances.map(({ key }) => key).join();
    if (keys !== this.#solved.keys || nowMs >= this.#solved.atMs + SOLVED_EVERY_MS)
      this.#solved = { atMs: nowMs, keys, lost: lostHeads(disturbances, lay, pumps) };
    return this.#solved.lost;
  }
}

/** First priority counts nine times as much as ninth. */
function worthOf(priority: number): number {
  return 10 - Math.min(9, Math.max(1, priority));
}
