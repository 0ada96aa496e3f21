/**
 * What the states of heads, lines and structures are read from: the lay as the model expects it and as it is believed
 * to be now.
 *
 * In: the monitor of the hose lay. Out: expectation, what gauges stand at, the causes believed. Null: nothing can be
 * expected of it now.
 */
import type { Walked } from '../baseline/walked.ts';
import type { Candidate } from '../isolation/candidate.ts';
import type { Expectation, Prediction } from '../model/expectation.ts';
import type { Boundary, Gauge } from '../model/gauge.ts';
import type { ParameterEstimate } from '../model/parameter-estimate.ts';
import type { GaugeFit } from '../residuals/gauge-fit.ts';

export interface MonitoredLay {
  readonly expectation: Expectation;
  readonly gauges: readonly Gauge[];
  readonly belief: ParameterEstimate;
  /** A baseline was taken. */
  readonly calibrated: boolean;
  /** Expectation of the healthy lay. */
  readonly healthy: Prediction | null;
  /** Expectation with the causes found in it: what heads get now. */
  readonly present: Prediction | null;
  /** How the last seconds of each gauge stand against its band, and against what has been named. */
  readonly fits: readonly GaugeFit[];
  /** What the last judgement believes, and the boundary of the last frame. */
  readonly believed: { readonly causes: readonly Candidate[]; readonly boundary: Boundary | null };
  /** Whether gates and throttle are as at a baseline that was taken. */
  walked(boundary: Boundary): Walked;
}
