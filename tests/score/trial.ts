/**
 * One run of the scorecard: the core driven by the plant, normal life going on, one fault at a random time.
 *
 * In: a seed and the set it belongs to; everything else follows from them (planOf), so any row can be played again.
 * Out: what the gateway said and when, next to what was true. A verdict is judged once it has settled: half a minute
 * (or two readings of the slowest line end) after the first alarm that follows the onset.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Entry } from '../../config/wire/entry.ts';
import type { Alarm, Picture } from '../../config/wire/wire.ts';
import { createWatch, type Watch } from '../../gateway/core/watch.ts';
import { SeededRandom } from '../../simulator/seeded-random.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { Filing, START_MS } from '../support/drive.ts';
import { boundOf } from './bound.ts';
import { CLASSES } from './classes.ts';
import { LOW_S, type Answer, type FaultClass } from './fault-class.ts';
import { reachableM3 } from './fault-draws.ts';
import { SEEN, UNSEEN } from './lay-classes.ts';
import { GatewayRecord } from './gateway-record.ts';
import { silences } from './gauge-set.ts';
import { scoreLay, type Cadence } from './lays.ts';
import { normalLife, type Chore, type ChoreKind } from './normal-life.ts';
import { beginningOf, type Beginning, FILLED_S, filling, quietLife } from './quiet-life.ts';
import { soonestFrom } from './soonest.ts';
import { TrueWarnings } from './true-warnings.ts';

export interface Plan {
  readonly seed: number;
  readonly className: string;
  readonly site: string;
  readonly cadence: Cadence;
  readonly calibrated: boolean;
  /** Nothing is wrong for so long, whatever the class watches; null: as the class does. */
  readonly quietS: number | null;
  /** Other gauges than the aims are stated for (gauge-set.ts). */
  readonly gauges?: string;
}

/** An alarm that nobody should have heard. */
export interface FalseAlarm {
  readonly atS: number;
  readonly cause: string;
  readonly subject: string;
  readonly probability: number;
  readonly says: string;
  /** The last thing of normal life before it, if it was not long before. */
  readonly after: ChoreKind | 'nothing';
  readonly words: string;
}

export interface Outcome {
  readonly plan: Plan;
  readonly truth: readonly string[];
  readonly onsetS: number;
  /** Seconds from onset to the first alarm that can be about it; null: none came. */
  readonly alarmS: number | null;
  /** To the first picture that names the right cause or its kin on the right subject. */
  readonly namedS: number | null;
  /**
   * To the soonest that anybody could have seen it, with even odds (soonest.ts); null: never in the time watched, or
   * nothing shifts.
   */
  readonly boundS: number | null;
  readonly lineRight: boolean;
  readonly causeRight: boolean;
  readonly kinRight: boolean;
  /** Stated probability of the settled verdict; null: none. */
  readonly stated: number | null;
  readonly settled: string;
  readonly alternatives: readonly string[];
  readonly setSize: number | null;
  /** Least that the sensors allow (bound.ts), where a set was named under the conditions of the aims. */
  readonly boundSize: number | null;
  /** How far the fault moves the noiseless readings, in their noise (bound.ts); null: not worked out. */
  readonly standsOut: number | null;
  /** Of the time watched after the onset, the share in which the radio of the pump's sensors was in a gap. */
  readonly pumpUnheard: number;
  readonly inSet: boolean | null;
  readonly sizeError: number | null;
  readonly falseAlarms: readonly FalseAlarm[];
  /** What was done of normal life while every alarm would have been false. */
  readonly chores: readonly ChoreKind[];
  /** Alarms after the onset beyond one for the fault. */
  readonly extraAlarms: readonly string[];
  readonly alarmsRaised: number;
  /** The gateway would not take a baseline. */
  readonly baselineRefused: boolean;
  /** Time in which every alarm would have been false. */
  readonly quietS: number;
  readonly watchedS: number;
  readonly timeline: readonly string[];
}

/** Seeds from here on are held out: no threshold was ever set on them. */
export const HELD_OUT_FROM = 9_300_000;
export const TUNING_FROM = 1_000;

/** Shares of the lays (the largest is dear) and of the conditions; the aims hold for the first condition. */
const LAY_TURN = [
  'larch-cove',
  'quarry-road',
  'two-lines-8',
  'street-60',
  'larch-cove',
  'two-lines-8',
  'larch-cove',
  'quarry-road',
  'two-lines-8',
  'larch-cove',
  'street-60',
  'two-lines-8',
  'quarry-road',
  'larch-cove',
  'hamlet-120',
  'street-60',
];
const OPEN_WATER = ['quarry-road'];
const CONDITIONS: readonly (readonly [Cadence, boolean])[] = [
  ['fast', true],
  ['fast', true],
  ['slow', true],
  ['fast', true],
  ['fast', false],
];

/**
 * Everything but the dice: classes take turns, then conditions and lays. With `quietS` nothing is wrong for so long.
 */
export function planOf(seed: number, quietS: number | null = null, gauges?: string): Plan {
  const turn = quietS === null ? Math.floor(seed / CLASSES.length) : seed;
  const [cadence, calibrated] = gauges === undefined ? CONDITIONS[turn % CONDITIONS.length]! : CONDITIONS[0]!;
  // Lays are dealt from their own dice, so that no lay falls in step with a condition.
  const kind = quietS === null ? CLASSES[seed % CLASSES.length]! : CLASSES.find(({ name }) => name === QUIET)!;
  const lays = LAY_TURN.filter(
    (name) => kind.water === undefined || (kind.water === 'open') === OPEN_WATER.includes(name),
  );
  const site = lays[Math.floor(SeededRandom.named(seed, 'lay').uniform() * lays.length)]!;
  return { seed, className: kind.name, site, cadence, calibrated, quietS, ...(gauges === undefined ? {} : { gauges }) };
}

/** The class whose normal life is all there is. */
export const QUIET = 'nothing wrong';

const BASELINE_AT_S = 130;
const BASELINE_TRIES = 8;
const BASELINE_RETRY_S = 20;
const SETTLE_S = 30;
/** Beats from nothing to plain: nobody has published how strong they are. */
const MOST_BEAT = 0.02;
/** Judgement: an alarm so long after a chore may still be about it. */
const AFTER_S = 300;
/** The throttle may have moved a little since the baseline, and a beat wavers. */
const SAME_RATE = 0.08;

export function runTrial(plan: Plan): Outcome | null {
  const layout = scoreLay(plan.site, plan.cadence, plan.gauges);
  const kind = CLASSES.find(({ name }) => name === plan.className)!;
  return new Trial(plan, layout, kind).run();
}

class Trial {
  readonly #plan: Plan;
  readonly #layout: Layout;
  readonly #kind: FaultClass;
  readonly #simulation: Simulation;
  readonly #true: TrueWarnings;
  /** Where nothing is wrong, the gateway may be started again. */
  readonly #record: GatewayRecord | null;
  readonly #filing = new Filing();
  readonly #beginning: Beginning;
  readonly #dice: SeededRandom;
  readonly #throttle: number;
  readonly #timeline: string[] = [];
  /** Every alarm that was annunciated, by id, as first heard; and the cause it names now. */
  readonly #seen = new Map<string, { readonly alarm: Alarm; readonly atS: number }>();
  readonly #said = new Map<string, string>();
  readonly #done: Pick<Chore, 'atS' | 'kind' | 'words'>[] = [];
  #watch: Watch;
  #chores: Chore[];
  #backS: number | null = null;
  #picture: Picture | null = null;
  #second = 0;
  #unheardS = 0;
  #refused = false;
  /** From the onset on. */
  #answer: Answer | null = null;

  constructor(plan: Plan, layout: Layout, kind: FaultClass) {
    this.#plan = plan;
    this.#layout = layout;
    this.#kind = kind;
    this.#dice = SeededRandom.named(plan.seed, 'trial');
    this.#throttle = this.#dice.between(0.9, 1);
    const quiet = kind.name === QUIET;
    this.#beginning = quiet ? beginningOf(this.#dice) : 'running';
    this.#chores = filling(layout, this.#beginning, this.#throttle, this.#dice);
    this.#simulation = new Simulation(layout, {
      seed: plan.seed,
      startMs: START_MS,
      scenario: {
        name: 'score',
        begins: this.#beginning === 'running' ? 'running' : 'dry',
        throttle: this.#throttle,
        telemetry: 'field',
        beat: kind.beat ? this.#dice.between(...kind.beat) : this.#dice.uniform() ** 2 * MOST_BEAT,
        timeline: [],
      },
    });
    this.#watch = createWatch(layout, { simulated: true });
    this.#true = new TrueWarnings(layout, this.#simulation);
    this.#record = quiet ? new GatewayRecord(layout, START_MS) : null;
  }

  run(): Outcome | null {
    try {
      return this.#play();
    } finally {
      this.#record?.close();
    }
  }

  #play(): Outcome | null {
    const pressures = this.#layout.sensors.filter(({ quantity }) => quantity === 'pressure');
    const slowestS = Math.max(...pressures.map(({ intervalS }) => intervalS));
    const stretch = slowestS > 1 ? 3 : 1;
    this.#drawDown();
    while (this.#second < BASELINE_AT_S + (stretch > 1 ? 240 : 0) + (this.#beginning === 'running' ? 0 : FILLED_S))
      this.#step();
    if (this.#plan.calibrated) this.#takeBaseline();
    const baselineS = this.#second;
    const onsetS = baselineS + (this.#kind.leadS ?? 0) + Math.floor(this.#dice.between(40, 200));
    const endS = onsetS + (this.#plan.quietS ?? this.#kind.watchS * (this.#kind.watchS > 600 ? 1 : stretch));
    const fault = this.#kind.draw(this.#layout, this.#simulation.plant, this.#dice);
    if (!fault) return null;
    this.#chores = this.#record
      ? quietLife(this.#layout, this.#dice, baselineS + 10, endS)
      : normalLife(this.#layout, this.#dice, baselineS + 10, endS, fault.answer.subjects);
    this.#chores.push(...silences(this.#layout, this.#plan.gauges, this.#record ? baselineS : onsetS));
    while (this.#second < onsetS) this.#step();
    const stalled = fault.deeds[0]?.what === 'head-stalled' ? this.#scoredAs(fault.deeds[0].at!) : null;
    const soonestS = soonestFrom(this.#simulation.plant, this.#plan.seed);
    for (const deed of fault.deeds) {
      const objection = this.#simulation.carry({ do: 'start', ...deed });
      if (objection) throw new Error(`${this.#plan.className}: ${objection}`);
      this.#note(
        `TRUTH ${deed.what} at ${deed.at ?? '-'}${deed.size === undefined ? '' : ` size ${deed.size.toPrecision(3)}`}`,
      );
    }
    while ((fault.answer.leftS?.(this.#simulation.plant) ?? 0) > LOW_S) this.#step();
    const waitedS = this.#second - onsetS;
    const plan = stalled === null ? this.#plan : { ...this.#plan, className: stalled };
    const truth = fault.deeds.map(({ what, at, size }) => [what, at, size?.toPrecision(3)].filter(Boolean).join(' '));
    const outcome = this.#afterOnset(
      fault.answer,
      truth,
      onsetS + waitedS,
      endS + waitedS,
      Math.max(SETTLE_S, 2 * slowestS),
    );
    const bounded =
      fault.deeds.length > 0 &&
      (outcome.setSize !== null || outcome.alarmS === null) &&
      this.#plan.calibrated &&
      this.#plan.cadence === 'fast';
    const bound = bounded ? boundOf(this.#layout, this.#plan.seed, this.#throttle, fault.deeds[0]!) : null;
    const later = this.#chores.flatMap(({ atS, deed }) =>
      deed && atS >= onsetS ? [{ afterS: atS - onsetS, deed }] : [],
    );
    return {
      ...outcome,
      plan,
      boundS: soonestS(fault.deeds, later, endS - onsetS),
      boundSize: outcome.setSize === null ? null : (bound?.set ?? null),
      standsOut: bound && Number.isFinite(bound.standsOut) ? bound.standsOut : null,
    };
  }

  #drawDown(): void {
    if (!this.#kind.minutesLeft) return;
    const { plant } = this.#simulation;
    const spareM3 = reachableM3(plant, 0) - 60 * this.#dice.between(...this.#kind.minutesLeft) * plant.pumpFlowM3s[0]!;
    plant.volumeM3[0]! -= Math.max(0, spareM3);
  }

  /** A crew that is asked to try again does, for a while. */
  #takeBaseline(): void {
    for (let tries = 0; tries < BASELINE_TRIES; tries += 1) {
      const refusal = this.#enter({
        kind: 'baseline',
        by: 'AB',
        headsSeenTurning: this.#layout.heads.map((head) => head.id),
      });
      this.#note(refusal === null ? 'baseline taken' : `baseline refused: ${refusal}`);
      if (refusal === null) return;
      for (let second = 0; second < BASELINE_RETRY_S; second += 1) this.#step();
    }
    this.#refused = true;
  }

  #afterOnset(answer: Answer, truth: readonly string[], onsetS: number, endS: number, settleS: number): Outcome {
    const heardBefore = new Set(this.#seen.keys());
    this.#answer = answer;
    let alarmS: number | null = null;
    let namedS: number | null = null;
    let judged: { alarm: Alarm | null; sizeError: number | null } = { alarm: null, sizeError: null };
    const pumpSensor = this.#layout.sensors.find(({ mounting }) => mounting.kind === 'discharge')!;
    while (this.#second < endS) {
      this.#step();
      if (this.#simulation.unheard(pumpSensor)) this.#unheardS += 1;
      const about = this.#standing().filter(({ verdict }) => !heardBefore.has(verdict.id));
      if (alarmS === null && about.length > 0) alarmS = this.#second - onsetS;
      if (namedS === null && about.some(({ verdict }) => isNamed(verdict, answer))) namedS = this.#second - onsetS;
      if (alarmS !== null && this.#second <= onsetS + alarmS + settleS && about.length > 0) {
        const alarm = best(about, answer);
        judged = { alarm, sizeError: this.#sizeError(alarm, answer) };
      }
    }
    if (answer.causes.length === 0) judged = { alarm: null, sizeError: null };
    return this.#outcome(answer, truth, onsetS, endS, heardBefore, { alarmS, namedS, ...judged });
  }

  #outcome(
    answer: Answer,
    truth: readonly string[],
    onsetS: number,
    endS: number,
    heardBefore: ReadonlySet<string>,
    found: { alarmS: number | null; namedS: number | null; alarm: Alarm | null; sizeError: number | null },
  ): Outcome {
    const verdict = found.alarm?.verdict ?? null;
    const faulty = answer.causes.length > 0;
    const falseOnes = [...this.#seen.values()].filter(({ alarm }) => !faulty || heardBefore.has(alarm.verdict.id));
    const later = [...this.#seen.values()].filter(
      ({ alarm }) => !falseOnes.some((other) => other.alarm === alarm) && alarm.verdict.id !== verdict?.id,
    );
    const firstS = this.#plan.calibrated ? BASELINE_AT_S : 0;
    return {
      plan: this.#plan,
      truth,
      onsetS,
      alarmS: faulty ? found.alarmS : null,
      namedS: faulty ? found.namedS : null,
      boundS: null,
      lineRight: verdict !== null && isSubject(verdict, answer),
      causeRight: verdict !== null && answer.causes.includes(verdict.cause),
      kinRight: verdict !== null && (answer.causes.includes(verdict.cause) || answer.kin.includes(verdict.cause)),
      stated: verdict?.probability ?? null,
      settled: verdict ? `${verdict.cause} ${verdict.subject} p=${verdict.probability.toFixed(2)}` : 'nothing',
      alternatives: verdict?.alternatives.map(({ words, probability }) => `${words} ${probability.toFixed(2)}`) ?? [],
      boundSize: null,
      standsOut: null,
      pumpUnheard: this.#unheardS / Math.max(1, endS - onsetS),
      setSize: verdict && answer.places.length > 0 ? verdict.places.length : null,
      inSet: verdict && answer.places.length > 0 ? verdict.places.some(({ id }) => answer.places.includes(id)) : null,
      sizeError: found.sizeError,
      falseAlarms: falseOnes.map(({ alarm, atS }) => ({
        atS,
        cause: alarm.verdict.cause,
        subject: alarm.verdict.subject,
        probability: alarm.verdict.probability,
        says: alarm.verdict.headline,
        ...this.#choreBefore(atS),
      })),
      chores: this.#done.filter(({ atS }) => !faulty || atS < onsetS).map(({ kind }) => kind),
      extraAlarms: later.map(({ alarm }) => `${alarm.verdict.cause} ${alarm.verdict.subject}`),
      alarmsRaised: this.#seen.size,
      baselineRefused: this.#refused,
      quietS: (faulty ? onsetS : endS) - firstS,
      watchedS: endS,
      timeline: this.#timeline,
    };
  }

  /** Of the flow that the trouble takes, or of the time that the water lasts. */
  #sizeError({ verdict }: Alarm, { flowM3s, leftS }: Answer): number | null {
    const { plant } = this.#simulation;
    const said = leftS
      ? this.#picture?.supplies.find(({ source }) => source === verdict.subject)?.emptyInS?.best
      : verdict.sizeM3s?.best;
    const right = leftS?.(plant) ?? flowM3s?.(plant) ?? 0;
    return said === undefined || Math.abs(right) < 1e-9 ? null : Math.abs(said) / Math.abs(right) - 1;
  }

  #choreBefore(atS: number): Pick<FalseAlarm, 'after' | 'words'> {
    const last = this.#done.findLast((chore) => chore.atS <= atS);
    return last && atS - last.atS < AFTER_S
      ? { after: last.kind, words: `${last.words}, ${atS - last.atS} s before` }
      : { after: 'nothing', words: '' };
  }

  #standing(): readonly Alarm[] {
    return (
      this.#picture?.alarms.filter(
        ({ state, verdict }) =>
          state !== 'returned-unacknowledged' &&
          (this.#isAnswer(verdict) ||
            !(this.#answer?.besides?.includes(verdict.cause) || this.#true.bearsOut(verdict))),
      ) ?? []
    );
  }

  #isAnswer({ cause, subject }: Said): boolean {
    return (
      this.#answer !== null &&
      this.#answer.causes.includes(cause) &&
      (this.#answer.subjects.length === 0 || this.#answer.subjects.includes(subject))
    );
  }

  /** Whether the baseline of its line had shown this head's beat. */
  #scoredAs(head: string): string {
    const index = this.#layout.heads.findIndex(({ id }) => id === head);
    const rateHz = this.#simulation.beats.rateHz(index);
    const known = this.#picture?.rhythms.find(({ line }) => line === this.#layout.heads[index]!.line)?.ratesHz ?? [];
    return known.some((one) => Math.abs(one / rateHz - 1) < SAME_RATE) ? SEEN : UNSEEN;
  }

  #enter(entry: Entry): string | null {
    const atMs = this.#simulation.nowMs + 950;
    const refusal = this.#watch.enter(entry, atMs);
    this.#record?.entered(entry, atMs, refusal);
    return refusal;
  }

  #step(): void {
    for (const chore of this.#chores) if (chore.atS === this.#second) this.#do(chore);
    const dumping = this.#isDumping();
    const samples = this.#simulation.second();
    if (this.#isDumping() !== dumping)
      this.#file({ kind: 'tender', words: dumping ? 'tender leaves' : 'tender dumps' });
    this.#true.second(this.#backS !== null);
    this.#second += 1;
    if (this.#backS !== null && this.#second < this.#backS) return;
    if (this.#backS !== null) this.#startAgain();
    const receivedMs = this.#simulation.nowMs + 100;
    // A frame comes before its second's readings in a gateway that keeps a record: only so can a core be built again
    // that is the same.
    if (this.#record) this.#picture = this.#watch.advance(receivedMs) ?? this.#picture;
    for (const reading of this.#record?.take(samples, receivedMs) ?? this.#filing.readings(samples, receivedMs))
      this.#watch.take(reading);
    if (!this.#record) this.#picture = this.#watch.advance(this.#simulation.nowMs + 900) ?? this.#picture;
    this.#listen();
  }

  #do(chore: Chore): void {
    if (chore.deed) {
      const objection = this.#simulation.carry(chore.deed);
      if (objection) throw new Error(objection);
    }
    // What a crew says to a gateway that is away, it says again when it is back: no chore has both.
    if (chore.entry) this.#enter(chore.entry);
    if (chore.awayS !== undefined) this.#backS = this.#second + chore.awayS;
    this.#file(chore);
  }

  #file({ kind, words }: Pick<Chore, 'kind' | 'words'>): void {
    this.#done.push({ atS: this.#second, kind, words });
    this.#note(`normal life: ${words}`);
  }

  #startAgain(): void {
    this.#backS = null;
    this.#watch = this.#record!.restart(this.#simulation.nowMs);
    this.#file({ kind: 'gateway restart', words: 'gateway back, its core rebuilt from the record' });
  }

  #isDumping(): boolean {
    return this.#simulation.plant.conditions.sourceGainM3s[0]! > 0;
  }

  #listen(): void {
    for (const alarm of this.#standing()) {
      const { id, cause, subject, probability, places, sizeM3s } = alarm.verdict;
      if (!this.#seen.has(id)) this.#seen.set(id, { alarm, atS: this.#second });
      if (this.#said.get(id) === cause) continue;
      this.#said.set(id, cause);
      const litres = sizeM3s ? `, ${(sizeM3s.best * 60_000).toFixed(1)} L/min` : '';
      this.#note(
        `alarm ${cause} on ${subject}, p=${probability.toFixed(2)}, ` +
          `{${places.map((place) => place.id).join(' ')}}${litres}`,
      );
    }
  }

  #note(words: string): void {
    this.#timeline.push(`${String(this.#second).padStart(5)} s  ${words}`);
  }
}

type Said = Alarm['verdict'];

function isSubject(verdict: Said, answer: Answer): boolean {
  return answer.subjects.length === 0 || answer.subjects.includes(verdict.subject);
}

function isNamed(verdict: Said, answer: Answer): boolean {
  return isSubject(verdict, answer) && (answer.causes.includes(verdict.cause) || answer.kin.includes(verdict.cause));
}

/** The alarm that the crew would act on: the right one if it is there, else the surest. */
function best(alarms: readonly Alarm[], answer: Answer): Alarm {
  return (
    alarms.find(({ verdict }) => isNamed(verdict, answer)) ??
    [...alarms].sort((a, b) => b.verdict.probability - a.verdict.probability)[0]!
  );
}
