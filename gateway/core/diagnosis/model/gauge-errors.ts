/**
 * What the gauges of a lay may be off by though nothing is wrong, as covariances (SI, row-major, gauges x gauges).
 *
 * Reading noise: of one reading's residual; shrinks by averaging. Bias: belief, walking offsets and the model's own
 * error; does not. Both rest on derivatives (Expectation.jacobian) that serve while the boundary is near the one they
 * were taken at.
 */
import { offsetAt, type ParameterEstimate } from './parameter-estimate.ts';
import type { Expectation, Prediction } from './expectation.ts';
import type { Boundary } from './gauge.ts';
import { projected } from '../../statistics/gaussian.ts';

/** Judgement: after a baseline an offset still walks: pressures by 1.2 kPa, flow by 0.4 % of what it reads. */
export const PRESSURE_WALK_PA = 1_200;
export const FLOW_WALK_SHARE = 0.004;
/** Judgement: away from the pressures walked the model is off by 2 % an e-fold. */
export const FAR_SHARE = 0.02;
/** Judgement: the steady model itself is good to 0.3 % of a pressure or flow. */
export const MODEL_ERROR_SHARE = 0.003;
/** Judgement: derivatives serve until a measured boundary value has moved by a fiftieth. */
const NEAR_SHARE = 0.02;

export interface Lag {
  /** Since the baseline, in the time that doubles the variance of an offset's walk. */
  readonly age: number;
  /** Log ratio of discharge pressure to the nearest setting walked, at most 1. */
  readonly far: number;
}

/** Own noise, and the boundary's noise that all gauges share. */
export function readingNoiseOf(
  expectation: Expectation,
  belief: ParameterEstimate,
  jacobian: Float64Array,
  boundary: Boundary,
): Float64Array {
  const { gauges } = expectation;
  const count = gauges.length;
  const { size } = belief;
  const out = new Float64Array(count * count);
  for (let carrier = 0; carrier < count; carrier += 1) {
    const variance = gauges[carrier]!.sensor.noiseSd ** 2;
    const column = offsetAt(belief, carrier);
    for (let row = 0; row < count; row += 1) {
      for (let other = 0; other < count; other += 1) {
        out[row * count + other]! += variance * jacobian[row * size + column]! * jacobian[other * size + column]!;
      }
    }
  }
  gauges.forEach((gauge, row) => {
    if (gauge.kind !== 'rise') return;
    const noise = expectation.speedNoisePa(gauge.pump, boundary);
    if (Number.isFinite(noise)) out[row * count + row]! += noise ** 2;
  });
  return out;
}

/** `lag`: how far the baseline lies behind. */
export function biasCovarianceOf(
  { gauges }: Expectation,
  belief: ParameterEstimate,
  healthy: Prediction,
  jacobian: Float64Array,
  { age, far }: Lag,
): Float64Array {
  const count = gauges.length;
  const out = projected(jacobian, count, belief.covariance, belief.size);
  gauges.forEach((gauge, row) => {
    const value = Number.isFinite(healthy.values[row]!) ? healthy.values[row]! : 0;
    const walk = gauge.kind === 'flow' ? FLOW_WALK_SHARE * value : PRESSURE_WALK_PA;
    out[row * count + row]! +=
      walk ** 2 * (1 + age) + (MODEL_ERROR_SHARE * value) ** 2 + (FAR_SHARE * far * value) ** 2;
  });
  return out;
}

/** Gauges follow the suction pressure and the level one to one: there only whether they are known counts. */
export function isNear(held: Boundary, now: Boundary): boolean {
  const near = (key: keyof Boundary, share: number): boolean =>
    now[key].every(
      (value, index) =>
        Object.is(value, held[key][index]) || Math.abs(value - held[key][index]!) <= share * Math.abs(value),
    );
  return (
    near('gateOpening', 0) &&
    near('dischargePa', NEAR_SHARE) &&
    near('flowM3s', NEAR_SHARE) &&
    near('speedRatio', NEAR_SHARE) &&
    near('suctionPa', Infinity) &&
    near('levelM', Infinity)
  );
}

/** Adds the block of `wide` (full x full) that belongs to these gauges to `narrow`. */
export function addBlock(narrow: Float64Array, wide: Float64Array, gauges: readonly number[], full: number): void {
  gauges.forEach((from, row) =>
    gauges.forEach((to, column) => {
      narrow[row * gauges.length + column]! += wide[from * full + to]!;
    }),
  );
}
