/**
 * The model of the lay near one boundary: what a healthy lay reads there, its derivatives, and what gauges may be off
 * by.
 *
 * In: what is believed of the lay, the measured boundary, how far the baseline lies behind. Out: expectation anew every
 * frame; derivatives and the covariances that rest on them are taken anew only when the boundary has moved, the belief
 * has changed, or they are LINEAR_MS old. SI.
 */
import type { Expectation, Prediction } from './expectation.ts';
import { biasCovarianceOf, isNear, readingNoiseOf, type Lag } from './gauge-errors.ts';
import type { Boundary } from './gauge.ts';
import type { ParameterEstimate } from './parameter-estimate.ts';

/** Judgement: derivatives and what rests on them are made anew after so long, or when the boundary has moved. */
const LINEAR_MS = 10_000;

/** gauges x size of the belief: the derivatives; gauges x gauges: the covariances. */
interface Linearisation {
  readonly jacobian: Float64Array;
  /** Of one reading's residual; shrinks by averaging. */
  readonly readingNoise: Float64Array;
  /** What all gauges may be off by though nothing is wrong; averaging does not shrink it. */
  readonly biasCovariance: Float64Array;
}

export interface LocalModel extends Linearisation {
  readonly belief: ParameterEstimate;
  readonly boundary: Boundary;
  readonly healthy: Prediction;
}

export class LocalModels {
  readonly #expectation: Expectation;
  #latest: (Omit<LocalModel, 'healthy'> & { readonly atMs: number }) | null = null;

  constructor(expectation: Expectation) {
    this.#expectation = expectation;
  }

  /** Null: the model has no solution there. `lag` is asked for only when derivatives are taken anew. */
  at(belief: ParameterEstimate, boundary: Boundary, atMs: number, lag: () => Lag): LocalModel | null {
    const healthy = this.#expectation.predict(belief, boundary);
    if (!healthy) return null;
    const { jacobian, readingNoise, biasCovariance } = this.#linearised(belief, boundary, healthy, atMs, lag);
    return { belief, boundary, healthy, jacobian, readingNoise, biasCovariance };
  }

  #linearised(
    belief: ParameterEstimate,
    boundary: Boundary,
    healthy: Prediction,
    atMs: number,
    lag: () => Lag,
  ): Linearisation {
    const latest = this.#latest;
    if (latest?.belief === belief && atMs < latest.atMs + LINEAR_MS && isNear(latest.boundary, boundary)) return latest;
    const jacobian = this.#expectation.jacobian(belief, boundary, healthy);
    this.#latest = {
      atMs,
      belief,
      boundary,
      jacobian,
      readingNoise: readingNoiseOf(this.#expectation, belief, jacobian, boundary),
      biasCovariance: biasCovarianceOf(this.#expectation, belief, healthy, jacobian, lag()),
    };
    return this.#latest;
  }
}
