/**
 * The mean residuals that causes are held against, with all that says how far they may be off by chance or by bias.
 *
 * In: one segment of steady running, the model near the frame's boundary, and the reference if there is one. Out:
 * evidence against what was right a moment ago, where there is such a thing, and against the model: a step shows in the
 * first, a slow growth in the second. SI, gauges by index.
 */
import type { LocalModel } from '../model/local-model.ts';
import { addBlock } from '../model/gauge-errors.ts';
import type { Gauge } from '../model/gauge.ts';
import { difference, type Reference } from './gauge-reference.ts';
import type { SegmentMean } from './gauge-history.ts';

/** What causes need of the model that expected the readings. */
type ExpectedBy = Pick<LocalModel, 'belief' | 'boundary' | 'healthy' | 'jacobian' | 'biasCovariance'>;

/** `biasCovariance`, gauges x gauges: what all gauges may be off by against the model though nothing is wrong. */
export interface ResidualEvidence extends ExpectedBy {
  /** Gauges that have readings in the segment; the residuals and their covariance are in this order. */
  readonly observedGauges: readonly number[];
  /** Mean residual of each observed gauge. */
  readonly residual: Float64Array;
  /** What each observed gauge was off by in what the residual is held against; 0: held against the model. */
  readonly referenceOffset: Float64Array;
  /** Noise of the mean residual plus bias; observed x observed. */
  readonly covariance: Float64Array;
}

/** Against the model alone. */
export function againstModel(model: ExpectedBy, segment: SegmentMean): ResidualEvidence {
  const { observedGauges, means, noise } = segment;
  const covariance = Float64Array.from(noise);
  addBlock(covariance, model.biasCovariance, observedGauges, model.healthy.values.length);
  return {
    belief: model.belief,
    boundary: model.boundary,
    healthy: model.healthy,
    jacobian: model.jacobian,
    biasCovariance: model.biasCovariance,
    observedGauges,
    residual: means,
    covariance,
    referenceOffset: new Float64Array(observedGauges.length),
  };
}

/** Against what was right before the last change. */
export function againstReference(
  model: ExpectedBy,
  segment: SegmentMean,
  reference: Reference,
  gauges: readonly Gauge[],
  nowMs: number,
): ResidualEvidence {
  return {
    belief: model.belief,
    boundary: model.boundary,
    healthy: model.healthy,
    jacobian: model.jacobian,
    biasCovariance: model.biasCovariance,
    ...difference(reference, segment, gauges, model, nowMs),
  };
}
