/**
 * How likely one set of causes makes the residuals, and how probable it is with its prior.
 *
 * The likelihood is Gaussian in what the set leaves of the residuals: noise, bias, an error share of the set's own
 * shift, and the spread of sizes that the kit states. In: evidence, a set of causes with sizes. Out: logs.
 */
import { lookScore } from '../causes/inspections.ts';
import { tradeErrors } from '../causes/swapped-sensors.ts';
import type { Expectation } from '../model/expectation.ts';
import { cholesky, dot, whiten, type Cholesky } from '../../statistics/gaussian.ts';
import { occamFactor, widestSpread, type Candidate } from './candidate.ts';
import { logPrior } from './cause-prior.ts';
import type { IsolationEvidence } from './isolation-evidence.ts';
import { predictedShift } from './predicted-shift.ts';

const LOG_PRIOR_UNEXPLAINED = Math.log(2e-6);
/** Judgement: a predicted shift is right to 4 %; something unknown moves gauges by about 8 % of what they read. */
const SHIFT_ERROR = 0.04;
const UNKNOWN_SHARE = 0.08;

export class SetLikelihood {
  readonly expectation: Expectation;
  readonly evidence: IsolationEvidence;
  /** Of the residuals' covariance while no cause is assumed. */
  readonly factor: Cholesky;

  constructor(expectation: Expectation, evidence: IsolationEvidence) {
    this.expectation = expectation;
    this.evidence = evidence;
    this.factor = cholesky(evidence.covariance, evidence.observedGauges.length);
  }

  /** Of values by observed gauge. */
  whitened(values: Float64Array): Float64Array {
    return whiten(this.factor, values);
  }

  /** What a shift leaves of the residuals. */
  left(shift: Float64Array): Float64Array {
    return this.evidence.residual.map((value, row) => value - shift[row]!);
  }

  /** Null: the model has no solution with these causes. */
  shift(set: readonly Candidate[]): Float64Array | null {
    return predictedShift(this.expectation, this.evidence, set)?.ofGauges ?? null;
  }

  /** Log of prior x likelihood of a whole set at its sizes. */
  logPosterior(set: readonly Candidate[]): number {
    const shift = this.shift(set);
    if (!shift) return -Infinity;
    const occam = set.reduce((sum, candidate) => sum + occamFactor(candidate), 0);
    const prior = set.reduce((sum, { hypothesis }) => sum + logPrior(this.evidence, hypothesis), 0);
    return this.logLikelihood(shift, set) + occam + prior + lookScore(this.evidence.looks, set);
  }

  /** Log of how likely the residuals are under this shift; whatever makes the shift unsure widens it. */
  logLikelihood(shift: Float64Array, set: readonly Candidate[]): number {
    const size = this.evidence.observedGauges.length;
    const covariance = Float64Array.from(this.evidence.covariance);
    for (const { hypothesis } of set) {
      const { effect } = hypothesis;
      if (effect.kind === 'swap') tradeErrors(covariance, this.evidence, this.expectation.gauges, effect.gauges);
    }
    const spread = widestSpread(set);
    for (let row = 0; row < size; row += 1) {
      covariance[row * size + row]! += (SHIFT_ERROR * shift[row]!) ** 2;
      for (let column = 0; column < size; column += 1)
        covariance[row * size + column]! += spread ** 2 * shift[row]! * shift[column]!;
    }
    return gaussianLog(covariance, this.left(shift));
  }

  /** Log of prior x likelihood of something unknown beside causes that shift the gauges so, less their own. */
  logUnexplained(shift: Float64Array): number {
    const { observedGauges, healthy } = this.evidence;
    const covariance = Float64Array.from(this.evidence.covariance);
    observedGauges.forEach((gauge, row) => {
      covariance[row * observedGauges.length + row]! += (UNKNOWN_SHARE * healthy.values[gauge]!) ** 2;
    });
    return gaussianLog(covariance, this.left(shift)) + LOG_PRIOR_UNEXPLAINED;
  }
}

/** Log of the Gaussian density of `values`, less a constant. */
function gaussianLog(covariance: Float64Array, values: Float64Array): number {
  const factor = cholesky(covariance, values.length);
  const white = whiten(factor, values);
  return -0.5 * dot(white, white) - 0.5 * factor.logDeterminant;
}
