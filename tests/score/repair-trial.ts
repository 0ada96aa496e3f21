/**
 * One run of the proof of repairs: the core driven by the plant, one trouble that is named and stands, and its repair.
 *
 * In: a seed; kind of trouble, lay, how long it stands and how long the repair takes follow from it. Out: what was told
 * while it stood, what became of that while it ended, and what was flagged anew because something ended. A trouble that
 * nothing was said of is no case: there is nothing to keep.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Alarm, Picture } from '../../config/wire/wire.ts';
import { createWatch, type Watch } from '../../gateway/core/watch.ts';
import { SeededRandom } from '../../simulator/seeded-random.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { Filing, START_MS } from '../support/drive.ts';
import { CLASSES } from './classes.ts';
import type { FaultClass } from './fault-class.ts';
import { scoreLay } from './lays.ts';
import { TrueWarnings } from './true-warnings.ts';

export interface RepairPlan {
  readonly seed: number;
  readonly className: string;
  readonly site: string;
  /** How long it stands after the first alarm, and how long the repair takes. */
  readonly standsS: number;
  readonly overS: number;
}

/** What of an alarm was told otherwise than while its trouble stood. */
type Part = 'name' | 'place' | 'priority' | 'size';

export interface RepairOutcome {
  readonly plan: RepairPlan;
  readonly truth: readonly string[];
  /** What stood when the repair began; empty: nothing was said of it. */
  readonly told: readonly string[];
  readonly changed: readonly Part[];
  /** What was flagged within NEW_S of the repair's end. */
  readonly flagged: readonly string[];
  /** Seconds from the end of the repair until nothing stood; null: something still did. */
  readonly endedS: number | null;
  readonly watchedS: number;
  readonly timeline: readonly string[];
}

/** Nothing new may be flagged for so long after a repair. */
const NEW_S = 60;
const BASELINE_AT_S = 130;
const BASELINE_TRIES = 8;
const BASELINE_RETRY_S = 20;
const STANDS_S = [15, 60] as const;
const MOST_OVER_S = 30;
/** A third is over in a moment: a gate kicked open, a coupling snapped shut. */
const AT_ONCE_SHARE = 0.3;
const ENDS_WITHIN_S = 120;
/** Judgement: a size that moves by less is the same to whoever reads it. */
const SAME_SIZE = 0.15;
const MOST_BEAT = 0.02;

/** The largest lay is dear. */
const LAY_TURN = ['larch-cove', 'quarry-road', 'two-lines-8', 'street-60', 'larch-cove', 'two-lines-8', 'hamlet-120'];

/** All that somebody can put right and the gateway can see. That water comes late is no trouble of the lay. */
const REPAIRED = CLASSES.filter(
  ({ name, unseen }) => unseen === undefined && name !== 'nothing wrong' && name !== 'refill late',
);

/** `className`: this kind, instead of the one whose turn it is. */
export function repairPlanOf(seed: number, className?: string): RepairPlan {
  const dice = SeededRandom.named(seed, 'repair');
  const dealt = REPAIRED[seed % REPAIRED.length]!;
  const kind = className === undefined ? dealt : REPAIRED.find(({ name }) => name === className)!;
  const lays = LAY_TURN.filter(
    (name) => kind.water === undefined || (kind.water === 'open') === (name === 'quarry-road'),
  );
  return {
    seed,
    className: kind.name,
    site: lays[Math.floor(dice.uniform() * lays.length)]!,
    standsS: Math.floor(dice.between(...STANDS_S)),
    overS: dice.uniform() < AT_ONCE_SHARE ? 0 : Math.ceil(dice.between(0, MOST_OVER_S)),
  };
}

export function runRepair(plan: RepairPlan): RepairOutcome | null {
  const kind = CLASSES.find(({ name }) => name === plan.className)!;
  return new RepairTrial(plan, scoreLay(plan.site, 'fast'), kind).run();
}

class RepairTrial {
  readonly #plan: RepairPlan;
  readonly #layout: Layout;
  readonly #kind: FaultClass;
  readonly #dice: SeededRandom;
  readonly #simulation: Simulation;
  readonly #watch: Watch;
  readonly #true: TrueWarnings;
  readonly #filing = new Filing();
  readonly #timeline: string[] = [];
  readonly #said = new Map<string, string>();
  #picture: Picture | null = null;
  #second = 0;

  constructor(plan: RepairPlan, layout: Layout, kind: FaultClass) {
    this.#plan = plan;
    this.#layout = layout;
    this.#kind = kind;
    this.#dice = SeededRandom.named(plan.seed, 'repair trial');
    this.#simulation = new Simulation(layout, {
      seed: plan.seed,
      startMs: START_MS,
      scenario: {
        name: 'repair',
        begins: 'running',
        throttle: this.#dice.between(0.9, 1),
        telemetry: 'field',
        beat: kind.beat ? this.#dice.between(...kind.beat) : this.#dice.uniform() ** 2 * MOST_BEAT,
        timeline: [],
      },
    });
    this.#watch = createWatch(layout, { simulated: true });
    this.#true = new TrueWarnings(layout, this.#simulation);
  }

  /** Null: this lay cannot have it, or its baseline was refused. */
  run(): RepairOutcome | null {
    this.#steps(BASELINE_AT_S);
    if (!this.#takeBaseline()) return null;
    this.#steps((this.#kind.leadS ?? 0) + Math.floor(this.#dice.between(40, 120)));
    const fault = this.#kind.draw(this.#layout, this.#simulation.plant, this.#dice);
    if (!fault) return null;
    const before = new Set(this.#alarms().map(({ verdict }) => verdict.id));
    const fresh = (): Alarm[] => this.#standing().filter(({ verdict }) => !before.has(verdict.id));
    for (const deed of fault.deeds) this.#carry({ do: 'start', ...deed });
    const onsetS = this.#second;
    while (this.#second < onsetS + this.#kind.watchS && fresh().length === 0) this.#step();
    if (fresh().length > 0) this.#steps(this.#plan.standsS);
    const truth = fault.deeds.map(({ what, at, size }) => [what, at, size?.toPrecision(3)].filter(Boolean).join(' '));
    const told = new Map(fresh().map((alarm) => [alarm.verdict.id, alarm]));
    const heard = new Map(this.#alarms().map(({ verdict, raisedMs }) => [verdict.id, raisedMs]));
    const changed = new Set<Part>();
    const flagged = new Map<string, string>();
    const repairS = this.#second;
    for (const { what, at } of fault.deeds)
      this.#carry({ do: 'repair', what, ...(at === undefined ? {} : { at }), overS: this.#plan.overS });
    const overS = repairS + this.#plan.overS;
    let endedS: number | null = null;
    while (told.size > 0 && this.#second < overS + ENDS_WITHIN_S) {
      this.#step();
      for (const alarm of this.#alarms()) {
        const { id, cause, subject } = alarm.verdict;
        const was = told.get(id);
        if (was) for (const part of partsChanged(was, alarm)) changed.add(part);
        const again = alarm.raisedMs !== heard.get(id);
        if (again && !flagged.has(id) && this.#second <= overS + NEW_S && !this.#true.bearsOut(alarm.verdict))
          flagged.set(id, `${cause} ${subject} ${this.#second - repairS} s after the repair began`);
      }
      if (this.#standing().some(({ verdict }) => told.has(verdict.id))) endedS = null;
      else endedS ??= this.#second - overS;
    }
    return {
      plan: this.#plan,
      truth,
      told: [...told.values()].map(({ verdict }) => `${verdict.cause} ${verdict.subject}`),
      changed: [...changed],
      flagged: [...flagged.values()],
      endedS,
      watchedS: this.#second,
      timeline: this.#timeline,
    };
  }

  #takeBaseline(): boolean {
    const headsSeenTurning = this.#layout.heads.map(({ id }) => id);
    for (let tries = 0; tries < BASELINE_TRIES; tries += 1) {
      const atMs = this.#simulation.nowMs + 950;
      if (this.#watch.enter({ kind: 'baseline', by: 'AB', headsSeenTurning }, atMs) === null) return true;
      this.#steps(BASELINE_RETRY_S);
    }
    return false;
  }

  #carry(deed: Parameters<Simulation['carry']>[0]): void {
    const objection = this.#simulation.carry(deed);
    if (objection) throw new Error(`${this.#plan.className}: ${objection}`);
    const how = deed.size === undefined ? '' : ` size ${deed.size.toPrecision(3)}`;
    this.#note(`TRUTH ${deed.do} ${deed.what} at ${deed.at ?? '-'}${how}${deed.overS ? ` over ${deed.overS} s` : ''}`);
  }

  #alarms(): readonly Alarm[] {
    return this.#picture?.alarms ?? [];
  }

  #standing(): readonly Alarm[] {
    return this.#alarms().filter(
      ({ state, verdict }) =>
        state !== 'returned-unacknowledged' && (this.#isMeant(verdict.cause) || !this.#true.bearsOut(verdict)),
    );
  }

  /** A warning that is true anyhow may be what the trouble is. */
  #isMeant(cause: string): boolean {
    return (
      (this.#kind.name === 'tank overfilled' && cause === 'tank-overfull') ||
      (this.#kind.name === 'sensor silent' && cause === 'sensor-silent')
    );
  }

  #steps(count: number): void {
    for (let step = 0; step < count; step += 1) this.#step();
  }

  #step(): void {
    const samples = this.#simulation.second();
    this.#true.second();
    this.#second += 1;
    for (const reading of this.#filing.readings(samples, this.#simulation.nowMs + 100)) this.#watch.take(reading);
    this.#picture = this.#watch.advance(this.#simulation.nowMs + 900) ?? this.#picture;
    for (const { verdict, priority, state } of this.#alarms()) {
      const places = verdict.places.map(({ id }) => id).join(' ');
      const words = `${verdict.cause} ${verdict.subject} {${places}} ${priority}, ${state}`;
      if (this.#said.get(verdict.id) !== words) this.#note(`${words}: ${verdict.headline}`);
      this.#said.set(verdict.id, words);
    }
  }

  #note(words: string): void {
    this.#timeline.push(`${String(this.#second).padStart(5)} s  ${words}`);
  }
}

function partsChanged(was: Alarm, now: Alarm): Part[] {
  const placesOf = ({ verdict }: Alarm): string =>
    verdict.places
      .map(({ id }) => id)
      .sort()
      .join();
  const sizeOf = ({ verdict }: Alarm): number => verdict.sizeM3s?.best ?? 0;
  const out: Part[] = [];
  if (was.verdict.cause !== now.verdict.cause || was.verdict.subject !== now.verdict.subject) out.push('name');
  if (placesOf(was) !== placesOf(now)) out.push('place');
  if (was.priority !== now.priority) out.push('priority');
  if (Math.abs(sizeOf(now) - sizeOf(was)) > SAME_SIZE * Math.abs(sizeOf(was))) out.push('size');
  return out;
}
