/**
 * The baselines of one lay: what they told of its parameters, and how far they lie behind.
 *
 * In: the mean readings of a steady spell that the crew walked, time, boundary. Out: the estimate of the lay's
 * parameters (that of the kit before any baseline), whether a setting is one that was walked, and the lag by which
 * bands widen. Baselines at several throttle settings count together; a later one at a like setting takes the place of
 * an earlier.
 */
import type { CauseIsolation } from '../isolation/cause-isolation.ts';
import type { Expectation, Prediction } from '../model/expectation.ts';
import { biasCovarianceOf, MODEL_ERROR_SHARE, readingNoiseOf, type Lag } from '../model/gauge-errors.ts';
import type { Boundary } from '../model/gauge.ts';
import { kitBelief, offsetAt, type ParameterEstimate } from '../model/parameter-estimate.ts';
import { SEGMENT_MS } from '../residuals/gauge-history.ts';
import { calibrate, type Calibration, type SteadySpell } from './calibration.ts';
import { likeliestWords } from './refused-baseline.ts';
import { isOtherThrottle, walkedAs, type Walked } from './walked.ts';

/** Judgement: the variance of an offset's walk doubles every four hours after a baseline. */
const AGE_MS = 4 * 3_600_000;

export class Baselines {
  readonly #expectation: Expectation;
  readonly #isolation: CauseIsolation;
  /** What the kit's tolerances alone support. */
  readonly #kit: ParameterEstimate;
  #estimate: ParameterEstimate;
  #spells: readonly SteadySpell[] = [];
  /** When the latest was taken; null: none was. */
  #takenMs: number | null = null;
  /** How far from what was walked the last derivatives were taken. */
  #away: readonly { readonly atMs: number; readonly far: number }[] = [];

  /** `isolation`: says what a refused baseline looks like. */
  constructor(expectation: Expectation, isolation: CauseIsolation) {
    this.#expectation = expectation;
    this.#isolation = isolation;
    this.#kit = kitBelief(expectation.layout, expectation.network, expectation.gauges);
    this.#estimate = this.#kit;
  }

  get estimate(): ParameterEstimate {
    return this.#estimate;
  }

  get calibrated(): boolean {
    return this.#takenMs !== null;
  }

  /** Whether gates and throttle are as at a baseline that was taken. */
  walked(boundary: Boundary): Walked {
    return walkedAs(
      this.#spells.map((spell) => spell.boundary),
      boundary,
    );
  }

  /**
   * How far the baseline lies behind: in walks of an offset since, and in pressure (log ratio to the nearest setting
   * walked).
   */
  lag(atMs: number, boundary: Boundary): Lag {
    if (this.#takenMs === null) return { age: 0, far: 0 };
    const away = this.#spells.map((spell) => pressureRatio(spell.boundary, boundary));
    // A segment may still hold what was read at a setting farther off.
    this.#away = [...this.#away.filter((then) => atMs - then.atMs < SEGMENT_MS), { atMs, far: Math.min(1, ...away) }];
    return { age: Math.max(0, atMs - this.#takenMs) / AGE_MS, far: Math.max(...this.#away.map(({ far }) => far)) };
  }

  /** Takes a baseline on the mean of a steady spell, together with earlier ones at other throttle settings. */
  take(boundary: Boundary, means: Float64Array, samples: number, nowMs: number): Calibration {
    const healthy = this.#expectation.predict(this.#kit, boundary);
    if (!healthy) return { ok: false, words: 'The model of this layout has no solution at these readings.' };
    const jacobian = this.#expectation.jacobian(this.#kit, boundary, healthy);
    const spell = { boundary, means, covariance: this.#meanCovariance(boundary, means, samples, jacobian) };
    const others = this.#spells.filter((earlier) => isOtherThrottle(earlier.boundary, boundary));
    const result = calibrate(this.#expectation, this.#kit, [...others, spell]);
    if (!result.ok) return { ok: false, words: `${result.words} ${this.#likeliest(spell, nowMs, healthy, jacobian)}` };
    this.#spells = [...others, spell];
    this.#estimate = result.belief;
    this.#takenMs = nowMs;
    this.#away = [];
    return result;
  }

  /** Of the means of so many readings: noise, and half of what the model may be off by. */
  #meanCovariance(boundary: Boundary, means: Float64Array, samples: number, jacobian: Float64Array): Float64Array {
    const covariance = readingNoiseOf(this.#expectation, this.#estimate, jacobian, boundary).map(
      (value) => value / Math.max(1, samples),
    );
    means.forEach((value, row) => {
      if (Number.isFinite(value)) covariance[row * means.length + row]! += (0.5 * MODEL_ERROR_SHARE * value) ** 2;
    });
    return covariance;
  }

  #likeliest(spell: SteadySpell, nowMs: number, healthy: Prediction, jacobian: Float64Array): string {
    const lag = this.lag(nowMs, spell.boundary);
    const biasCovariance = biasCovarianceOf(this.#expectation, this.#estimate, healthy, jacobian, lag);
    const model = { belief: this.#kit, healthy, jacobian, biasCovariance };
    return likeliestWords(this.#isolation, this.#expectation, spell, model);
  }

  /** Another gauge, or another zero: its bias is as open as before any baseline. What else a baseline told stays. */
  regauge(gauge: number): void {
    const { size } = this.#estimate;
    const own = offsetAt(this.#estimate, gauge);
    const mean = this.#estimate.mean.with(own, this.#kit.mean[own]!);
    const covariance = this.#estimate.covariance.slice();
    for (let other = 0; other < size; other += 1) covariance[own * size + other] = covariance[other * size + own] = 0;
    covariance[own * size + own] = this.#kit.covariance[own * size + own]!;
    this.#estimate = { ...this.#estimate, mean, covariance };
    this.#spells = this.#spells.map((spell) => ({ ...spell, means: spell.means.with(gauge, NaN) }));
  }
}

/** How far a setting is from one that was walked: the largest log ratio of a pump's discharge pressure. */
function pressureRatio(walked: Boundary, now: Boundary): number {
  return Math.max(
    0,
    ...now.dischargePa.map((pressure, pump) => Math.abs(Math.log(pressure / walked.dischargePa[pump]!)) || 0),
  );
}
