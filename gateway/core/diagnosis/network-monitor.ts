/**
 * Follows one running lay: expectation of every gauge with its band, the segment of residuals, and the causes found.
 *
 * In: one frame a second with the boundary, the gauges' new readings and whether the lay is steady. Out: prediction,
 * bands, findings; and the calibration when the crew has walked the lay. Valid only while pumps run steadily and the
 * lay is full; the watch decides when that is so.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import type { Cause } from '../../../config/wire/wire.ts';
import type { Look } from '../operations/entries.ts';
import { buildNetwork } from '../hydraulics/network.ts';
import { fitOf, latelyMs, NO_FIT, type GaugeFit } from './states/agreement.ts';
import { kitBelief, offsetAt, type ParameterEstimate } from './model/parameter-estimate.ts';
import { addBlock, calibrate, type Calibration, type SteadySpell } from './baseline/calibration.ts';
import { hypothesesOf, keyOf, type Hypothesis } from './causes/causes.ts';
import { CauseIsolation, type Candidate, type Evidence, type Found } from './isolation/cause-isolation.ts';
import { Creep, type Creeping } from './residuals/creep.ts';
import { Ending } from './isolation/ending.ts';
import { Expectation, type Prediction } from './model/expectation.ts';
import { findingOf, type Finding } from './isolation/finding.ts';
import { firstShort, type FirstShort } from './supply/first-underpressure.ts';
import { isNear, MODEL_ERROR_SHARE, singleNoise, standingError, type Lag } from './model/gauge-errors.ts';
import { difference, References } from './residuals/gauge-reference.ts';
import { GaugeHistory, SEGMENT_MS, type SegmentMean } from './residuals/gauge-history.ts';
import { gaugesOf, type Boundary, type Gauge } from './model/gauge.ts';
import { changesOf, outflowOf, shownEvidence } from './isolation/grounds.ts';
import type { Motion } from './pump/pump-watch.ts';
import { TimeAlignedResiduals, type Residual } from './residuals/time-aligned-residuals.ts';
import { mostFlowM3s } from './model/pump-limit.ts';
import { isOtherThrottle, walkedAs, type Walked } from './baseline/walked.ts';
import { bestQuestion } from './isolation/next-check.ts';
import { Shapes } from './residuals/shape.ts';
import { SteadyWords } from './isolation/steady-words.ts';
import { Transients } from './isolation/transients.ts';
import { FindingTracker } from './isolation/finding-tracker.ts';

/** Judgement: the variance of an offset's walk doubles every four hours after a baseline. */
const AGE_MS = 4 * 3_600_000;
/** Judgement: derivatives and what rests on them are made anew after so long, or when the boundary has moved. */
const LINEAR_MS = 10_000;
const SURE_FRAMES = 3;
const PLAIN_FRAMES = 2;
/**
 * Once the same causes have won this often in one segment, judge again only after 5 s, and a second later each time:
 * each costs some 20 ms.
 */
const SETTLED_JUDGEMENTS = 4;
const REJUDGE_MS = 5_000;
const REJUDGE_MOST_MS = 20_000;
/** Judgement: so long after a pump's step lines may still be on their way. */
const FOLLOWS_MS = 8_000;
/** Judgement: creep is followed within so much of one discharge pressure. */
const CREEP_SHARE = 0.03;
export interface GaugeFrame {
  readonly atMs: number;
  readonly boundary: Boundary;
  /** When the boundary was measured. */
  readonly boundaryMs: number;
  /** Time between its measurements, and between readings of each gauge. */
  readonly boundaryEveryMs: number;
  readonly everyMs: readonly number[];
  /** New reading of each gauge in this frame, and when it was measured; NaN: none. */
  readonly fresh: Float64Array;
  readonly measuredMs: Float64Array;
  /** Gauges that are neither stale nor stuck. */
  readonly trusted: readonly boolean[];
  readonly looks: readonly Look[];
  readonly hurt: ReadonlySet<string>;
  /** Moves of gates that were ordered and are not yet seen. */
  readonly ordered: readonly Hypothesis[];
}

export interface Band {
  readonly expected: number;
  readonly low: number;
  readonly high: number;
}

/** The lay near one boundary: derivatives of the gauges, and the covariances that rest on them. */
interface Linear {
  readonly atMs: number;
  readonly belief: ParameterEstimate;
  readonly boundary: Boundary;
  readonly jacobian: Float64Array;
  readonly single: Float64Array;
  readonly standing: Float64Array;
}

const nameOf = ({ best }: Found): string => keyOf(best.hypothesis.cause, best.hypothesis.subject);

export class NetworkMonitor {
  readonly layout: Layout;
  readonly expectation: Expectation;
  readonly gauges: readonly Gauge[];
  belief: ParameterEstimate;
  calibrated = false;
  /** Expectation with the causes found in it: what heads get now. */
  present: Prediction | null = null;
  /** Expectation of the healthy lay. */
  healthy: Prediction | null = null;
  bands: (Band | null)[] = [];
  findings: Finding[] = [];
  /** Ordered moves of gates that the last judgement saw, by gate. */
  moved: readonly number[] = [];
  /** How the last seconds of each gauge stand against its band, and against what has been named. */
  fits: GaugeFit[] = [];
  readonly #prior: ParameterEstimate;
  readonly #history: GaugeHistory;
  readonly #creep: Creep;
  /** Discharge pressures at which what is right was learned for the creep of gauges; null: not yet. */
  #creepPa: Float64Array | null = null;
  readonly #competition: CauseIsolation;
  #spells: SteadySpell[] = [];
  #calibratedMs = 0;
  #heldMs = 0;
  /** How far from what was walked the last derivatives were taken. */
  #away: { readonly atMs: number; readonly far: number }[] = [];
  #boundary: Boundary | null = null;
  #linear: Linear | null = null;
  #standing: Candidate[] = [];
  readonly #tails = new Transients();
  readonly #references = new References();
  readonly #troubles = new FindingTracker();
  readonly #ending = new Ending();
  readonly #words = new SteadyWords();
  readonly #shapes = new Shapes();
  readonly #ownTime = new TimeAlignedResiduals();
  #judged = { atMs: 0, segmentMs: -1, names: '', same: 0 };

  constructor(layout: Layout) {
    this.layout = layout;
    const network = buildNetwork(layout);
    this.gauges = gaugesOf(layout, network);
    this.expectation = new Expectation(layout, network, this.gauges);
    this.#prior = kitBelief(layout, network, this.gauges);
    this.belief = this.#prior;
    this.#competition = new CauseIsolation(this.expectation, hypothesesOf(layout, network, this.gauges));
    this.#history = new GaugeHistory(this.gauges.map((gauge) => gauge.sensor.intervalS));
    this.#creep = new Creep(this.gauges.map((gauge) => gauge.sensor.intervalS));
  }

  /** It does not run, or is `unheard`: nothing is expected of it. What was found stands until it is judged again. */
  rest(nowMs: number, unheard: boolean): void {
    this.present = null;
    this.healthy = null;
    this.bands = this.gauges.map(() => null);
    this.fits = this.gauges.map(() => NO_FIT);
    this.#standing = [];
    this.#ownTime.clear();
    this.#references.rest(unheard ? this.#history : null);
    this.#history.restart(nowMs);
    this.#creepPa = null;
  }

  /** What the last judgement believes, and the boundary of the last frame. */
  get believed(): { readonly causes: readonly Candidate[]; readonly boundary: Boundary | null } {
    return { causes: this.#standing, boundary: this.#boundary };
  }

  get creeping(): readonly Creeping[] {
    return this.#creep.creeping;
  }

  /** A known action changed what is normal: causes found so far are judged afresh, once the lay has come to rest. */
  restart(nowMs: number, restMs: number): void {
    this.#references.clear();
    this.#history.restart(nowMs + restMs);
    this.#creepPa = null;
    this.#ending.clear();
    this.#heldMs = nowMs + restMs;
  }

  #withdraw(nowMs: number): void {
    const gone = this.#troubles.withdraw(nowMs);
    const stays = (one: { readonly cause: Cause; readonly subject: string }): boolean =>
      !gone.has(keyOf(one.cause, one.subject));
    this.findings = this.findings.filter(stays);
    this.#standing = this.#standing.filter(({ hypothesis }) => stays(hypothesis));
  }

  /** What was found is explained by what people told: all of it, or what began since `fromMs`, but for these keys. */
  forget(fromMs = -Infinity, but: readonly string[] = []): void {
    this.findings = this.findings.filter(({ sinceMs, key }) => sinceMs < fromMs || but.includes(key));
    this.#troubles.forget(fromMs);
    this.#standing = this.#standing.filter(({ hypothesis }) =>
      this.#troubles.has(keyOf(hypothesis.cause, hypothesis.subject)),
    );
  }

  /**
   * Unless the pumps are still, expectation is shown but the frame's residuals are not filed. A pressure that falls at
   * the same speed is the lay's doing, and the lay follows it within a second; one that rises may be a pump that is
   * being shut in.
   */
  observe(frame: GaugeFrame, motion: Motion): void {
    this.moved = [];
    if (motion === 'throttled') this.#withdraw(frame.atMs);
    const healthy = this.expectation.predict(this.belief, frame.boundary);
    if (!healthy) throw new Error('the model of this layout has no solution at the measured pressures');
    this.healthy = healthy;
    this.#boundary = frame.boundary;
    this.#ownTime.file(frame.boundaryMs, healthy.values);
    const { jacobian, single, standing } = this.#linearised(frame, healthy);
    this.#band(healthy, single, standing);
    const residuals = this.#ownTime.residuals(frame).filter(({ atMs }) => atMs >= this.#heldMs);
    if ((motion === 'still' || motion === 'falls') && frame.atMs >= this.#heldMs) {
      this.#history.pace(frame.everyMs, frame.boundaryEveryMs);
      for (const { gauge, atMs, value } of residuals) this.#history.file(gauge, atMs, value);
      this.#followCreep(frame, residuals, healthy);
      this.#history.settle(frame.atMs, single, frame.trusted);
      const phase = this.#ending.observe(this.#history, frame.atMs, single, frame.trusted);
      if (phase === 'rests') this.#history.cut(this.#ending.restMs);
      const stands = this.#standing.length > 0 || this.findings.length > 0;
      this.#references.observe(frame, this.#history, single, stands);
      if (phase !== 'recedes') this.#judge(frame, healthy, jacobian, single, standing);
    }
    this.present =
      this.#standing.length === 0
        ? healthy
        : this.expectation.predict(this.belief, frame.boundary, changesOf(this.#standing));
    this.fits = this.gauges.map((_, gauge) => this.#fit(gauge, frame, single, standing));
  }

  #linearised({ atMs, boundary }: GaugeFrame, healthy: Prediction): Linear {
    const held = this.#linear;
    if (held && held.belief === this.belief && atMs < held.atMs + LINEAR_MS && isNear(held.boundary, boundary))
      return held;
    const jacobian = this.expectation.jacobian(this.belief, boundary, healthy);
    this.#linear = {
      atMs,
      belief: this.belief,
      boundary,
      jacobian,
      single: singleNoise(this.expectation, this.belief, jacobian, boundary),
      standing: standingError(this.expectation, this.belief, healthy, jacobian, this.#lag({ atMs, boundary })),
    };
    return this.#linear;
  }

  /**
   * Which head of those that work falls short first while this source empties, at the readings of the last frame; null:
   * none, or nothing can be said.
   */
  firstShort(source: number, works: ReadonlySet<string>): FirstShort | null {
    const { expectation, belief, present } = this;
    if (!present || !this.#boundary) return null;
    return firstShort(expectation, belief, this.#boundary, present, changesOf(this.#standing), source, works);
  }

  /** What is explained does not creep; at another throttle the model's own error would look like it. */
  #followCreep({ atMs, boundary }: GaugeFrame, residuals: readonly Residual[], healthy: Prediction): void {
    const moved =
      this.#creepPa?.some((pressure, pump) => Math.abs(boundary.dischargePa[pump]! / pressure - 1) > CREEP_SHARE) ??
      true;
    if (moved) {
      this.#creep.restart();
      this.#creepPa = boundary.dischargePa.slice();
    }
    if (this.findings.length > 0) return;
    for (const { gauge, value } of residuals) this.#creep.file(gauge, atMs, value, healthy.values[gauge]!);
  }

  #fit(gauge: number, { atMs, everyMs }: GaugeFrame, single: Float64Array, standing: Float64Array): GaugeFit {
    const { spanMs, least } = latelyMs(everyMs[gauge]! / 1_000);
    const { mean, count } = this.#history.recent(gauge, atMs - spanMs);
    if (count < least || !this.present || !this.healthy || !this.bands[gauge]) return NO_FIT;
    const at = gauge * this.gauges.length + gauge;
    const named = this.present.values[gauge]! - this.healthy.values[gauge]!;
    return fitOf(mean, count, named, { single: single[at]!, standing: standing[at]! });
  }

  /** Whether gates and throttle are as at a baseline that was taken. */
  walked(boundary: Boundary): Walked {
    return walkedAs(
      this.#spells.map((spell) => spell.boundary),
      boundary,
    );
  }

  /**
   * Against what was right a moment ago if there is such a thing, and against the model: a step shows in the first, a
   * slow growth in the second.
   */
  #evidence(
    frame: GaugeFrame,
    segment: SegmentMean,
    { healthy, jacobian, standing }: { healthy: Prediction; jacobian: Float64Array; standing: Float64Array },
  ): Evidence[] {
    const common = {
      belief: this.belief,
      boundary: frame.boundary,
      healthy,
      jacobian,
      standing,
      looks: frame.looks,
      hurt: frame.hurt,
      ordered: frame.ordered,
      shapes: this.#shapes.of(this.gauges, this.#history, frame.atMs),
      stood: this.#troubles.stood(frame.atMs),
      mostM3s: mostFlowM3s(this.expectation, this.belief, frame.boundary),
    };
    const covariance = Float64Array.from(segment.noise);
    addBlock(covariance, standing, segment.kept, this.gauges.length);
    const absolute = {
      ...common,
      kept: segment.kept,
      residual: segment.means,
      covariance,
      was: new Float64Array(segment.kept.length),
    };
    const { reference } = this.#references;
    if (!reference) return [absolute];
    return [
      { ...common, ...difference(reference, segment, this.gauges, healthy, standing, frame.boundary, frame.atMs) },
      absolute,
    ];
  }

  #judge(
    frame: GaugeFrame,
    healthy: Prediction,
    jacobian: Float64Array,
    single: Float64Array,
    standing: Float64Array,
  ): void {
    const maySpeak = frame.trusted.map((trusted, gauge) => trusted && Number.isFinite(healthy.values[gauge]!));
    const segment = this.#history.segment(frame.atMs, single, maySpeak);
    if (segment.samples < (this.#history.plain(frame.atMs) ? PLAIN_FRAMES : SURE_FRAMES) || segment.kept.length === 0)
      return;
    if (this.#history.unsettled(frame.atMs, single, maySpeak)) return;
    const settled = segment.startMs === this.#judged.segmentMs && this.#judged.same >= SETTLED_JUDGEMENTS;
    const looked = frame.looks.some(({ atMs }) => atMs > this.#judged.atMs);
    if (
      settled &&
      !looked &&
      frame.atMs <
        this.#judged.atMs + Math.min(REJUDGE_MOST_MS, REJUDGE_MS + 1_000 * (this.#judged.same - SETTLED_JUDGEMENTS))
    )
      return;
    const leanings = this.#evidence(frame, segment, { healthy, jacobian, standing });
    let found: readonly Found[] = [];
    let evidence = leanings[0]!;
    for (const leaning of leanings) {
      evidence = leaning;
      found = this.#competition.judge(leaning, this.#standing);
      if (found.length > 0) break;
    }
    if (evidence !== leanings.at(-1) && found.length > 0 && this.#ending.isOpposite(evidence, frame.atMs)) {
      const plain = this.#competition.judge(leanings.at(-1)!, this.#standing);
      if (plain.length === 0) {
        this.#references.clear();
        found = plain;
      }
    }
    this.moved = found.flatMap(({ best }) => best.hypothesis.moves ?? []);
    found = found
      .filter(({ best }) => best.hypothesis.moves === undefined)
      .map((one) => ({ ...one, rivals: one.rivals.filter(({ hypothesis }) => hypothesis.moves === undefined) }));
    // Lines follow a pump that steps by some seconds: only what outlasts them is a second trouble.
    const isAtPump = ({ best }: Found): boolean => best.hypothesis.subjectKind === 'pump';
    if (found.some(isAtPump) && frame.atMs - segment.startMs < FOLLOWS_MS)
      found = found.filter((one) => isAtPump(one) || this.#troubles.stands(nameOf(one)));
    const named = found.map((one) => this.#findingOf(one, found, segment.startMs, evidence));
    if (this.#ending.withholds(named, this.findings, frame.atMs)) return;
    const names = found.map(({ best }) => `${best.hypothesis.cause} ${best.hypothesis.subject}`).join();
    const same = segment.startMs === this.#judged.segmentMs && names === this.#judged.names;
    this.#judged = { atMs: frame.atMs, segmentMs: segment.startMs, names, same: same ? this.#judged.same + 1 : 0 };
    this.#standing = found.map((one) => one.best);
    this.#tell(frame, segment, single, evidence, named, looked);
  }

  #tell(
    frame: GaugeFrame,
    segment: SegmentMean,
    single: Float64Array,
    evidence: Evidence,
    named: readonly Finding[],
    looked: boolean,
  ): void {
    const { atMs } = frame;
    const weaker = this.#ending.isWeaker(segment, single, atMs);
    const words = this.#words.of(named, this.findings, { weaker, looked, stood: this.#troubles.stood(atMs), atMs });
    const told = this.#troubles.follow(words, segment.startMs, atMs, !weaker);
    this.findings = [...this.#tails.without(told, this.findings, atMs), ...this.#held(named, frame)];
    if (named.length === 0) this.#ending.over(atMs);
    else if (!weaker) this.#ending.stands(evidence, segment, this.#shiftsOf(evidence), atMs);
  }

  /** What each of several causes makes of the gauges by itself. */
  #shiftsOf(evidence: Evidence): Float64Array[] {
    if (this.#standing.length < 2) return [];
    const all = this.#competition.shift(evidence, this.#standing);
    return this.#standing.flatMap((one) => {
      const others = this.#competition.shift(
        evidence,
        this.#standing.filter((other) => other !== one),
      );
      return all && others ? [all.map((value, row) => value - others[row]!)] : [];
    });
  }

  #findingOf(one: Found, found: readonly Found[], startMs: number, evidence: Evidence): Finding {
    const others = found.filter((other) => other !== one).map(({ best }) => best);
    return findingOf(
      one,
      startMs,
      shownEvidence(this.gauges, evidence),
      outflowOf(this.expectation, one.best, evidence),
      bestQuestion(this.expectation, evidence, one, others),
    );
  }

  /** Earlier findings that rest on a gauge which has fallen silent or stuck: missing data never clears a trouble. */
  #held(found: readonly Finding[], frame: GaugeFrame): Finding[] {
    const named = new Set(found.map(({ subject }) => subject));
    return this.findings.filter((finding) => {
      const gauge = this.gauges.findIndex((candidate) => candidate.sensor.id === finding.evidence[0]?.channel);
      return gauge >= 0 && !frame.trusted[gauge] && !named.has(finding.subject);
    });
  }

  /**
   * How far the baseline lies behind: in walks of an offset since, and in pressure (log ratio to the nearest setting
   * walked).
   */
  #lag({ atMs, boundary }: Pick<GaugeFrame, 'atMs' | 'boundary'>): Lag {
    if (!this.calibrated) return { age: 0, far: 0 };
    const away = this.#spells.map((spell) =>
      Math.max(
        0,
        ...boundary.dischargePa.map(
          (pressure, pump) => Math.abs(Math.log(pressure / spell.boundary.dischargePa[pump]!)) || 0,
        ),
      ),
    );
    // A segment may still hold what was read at a setting farther off.
    this.#away = [...this.#away.filter((then) => atMs - then.atMs < SEGMENT_MS), { atMs, far: Math.min(1, ...away) }];
    return { age: Math.max(0, atMs - this.#calibratedMs) / AGE_MS, far: Math.max(...this.#away.map(({ far }) => far)) };
  }

  #band(healthy: Prediction, single: Float64Array, standing: Float64Array): void {
    const count = this.gauges.length;
    this.bands = this.gauges.map((_, gauge) => {
      const expected = healthy.values[gauge]!;
      if (!Number.isFinite(expected)) return null;
      const width = 3 * Math.sqrt(single[gauge * count + gauge]! + standing[gauge * count + gauge]!);
      return { expected, low: expected - width, high: expected + width };
    });
  }

  /**
   * Takes a baseline on the mean of a steady spell, together with earlier ones at other throttle settings. On success
   * causes and history start afresh.
   */
  baseline(boundary: Boundary, means: Float64Array, samples: number, nowMs: number): Calibration {
    const healthy = this.expectation.predict(this.#prior, boundary);
    if (!healthy) return { ok: false, words: 'The model of this layout has no solution at these readings.' };
    const jacobian = this.expectation.jacobian(this.#prior, boundary, healthy);
    const covariance = singleNoise(this.expectation, this.belief, jacobian, boundary).map(
      (value) => value / Math.max(1, samples),
    );
    means.forEach((value, row) => {
      if (Number.isFinite(value)) covariance[row * this.gauges.length + row]! += (0.5 * MODEL_ERROR_SHARE * value) ** 2;
    });
    const spell = { boundary, means, covariance };
    const others = this.#spells.filter((earlier) => isOtherThrottle(earlier.boundary, boundary));
    const result = calibrate(this.expectation, this.#prior, [...others, spell]);
    if (!result.ok) return { ok: false, words: `${result.words} ${this.#likeliest(spell, nowMs, healthy, jacobian)}` };
    this.#spells = [...others, spell];
    this.belief = result.belief;
    this.calibrated = true;
    this.#calibratedMs = nowMs;
    this.#away = [];
    this.forget();
    this.#creepPa = null;
    this.#references.clear();
    this.#history.restart(nowMs);
    return result;
  }

  /**
   * Another gauge, or another zero: its standing error is as open as before any baseline. What else a baseline told
   * stays.
   */
  regauge(sensorId: string, nowMs: number): void {
    const gauge = this.gauges.findIndex(({ sensor }) => sensor.id === sensorId);
    if (gauge < 0) return;
    const { size } = this.belief;
    const own = offsetAt(this.belief, gauge);
    const mean = this.belief.mean.with(own, this.#prior.mean[own]!);
    const covariance = this.belief.covariance.slice();
    for (let other = 0; other < size; other += 1) covariance[own * size + other] = covariance[other * size + own] = 0;
    covariance[own * size + own] = this.#prior.covariance[own * size + own]!;
    this.belief = { ...this.belief, mean, covariance };
    this.#spells = this.#spells.map((spell) => ({ ...spell, means: spell.means.with(gauge, NaN) }));
    this.restart(nowMs, 0);
  }

  /** What a baseline that was refused looks most like. */
  #likeliest(
    { boundary, means, covariance }: SteadySpell,
    atMs: number,
    healthy: Prediction,
    jacobian: Float64Array,
  ): string {
    const kept = this.gauges
      .map((_, gauge) => gauge)
      .filter((gauge) => Number.isFinite(means[gauge]!) && Number.isFinite(healthy.values[gauge]!));
    const block = new Float64Array(kept.length ** 2);
    addBlock(block, covariance, kept, this.gauges.length);
    const standing = standingError(this.expectation, this.belief, healthy, jacobian, this.#lag({ atMs, boundary }));
    addBlock(block, standing, kept, this.gauges.length);
    const residual = Float64Array.from(kept, (gauge) => means[gauge]! - healthy.values[gauge]!);
    const found = this.#competition.judge(
      {
        belief: this.#prior,
        boundary,
        healthy,
        jacobian,
        kept,
        residual,
        was: new Float64Array(kept.length),
        covariance: block,
        standing,
        looks: [],
        hurt: new Set(),
        ordered: [],
        shapes: new Map(),
        stood: new Set(),
        mostM3s: mostFlowM3s(this.expectation, this.#prior, boundary),
      },
      [],
    );
    const looks = found.map(({ best }) => `${best.hypothesis.cause.replaceAll('-', ' ')} at ${best.hypothesis.place}`);
    const first = looks.length > 0 ? `It looks most like: ${looks.join(', and ')}. ` : '';
    return `${first}Look there first, or for a wrong hose or height in the layout; then take the baseline again.`;
  }
}
