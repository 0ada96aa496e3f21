/**
 * The size at which one cause, beside others that stand, explains the residuals best; and how it scores there.
 *
 * In: the likelihood of sets, a cause with the size to start from, the causes around it. Out: the fitted candidate, or
 * null where the model has no solution, the cause moves the gauges the wrong way, shows too little of its one size, or
 * takes more water than a pump can give. Method: the shift is taken as proportional to the size, round by round.
 */
import type { Hypothesis } from '../causes/hypothesis.ts';
import { lookScore } from '../causes/inspections.ts';
import { dot } from '../../statistics/gaussian.ts';
import { occamFactor, type Candidate } from './candidate.ts';
import { logPrior } from './cause-prior.ts';
import { isDeliverable } from './deliverable.ts';
import { predictedShift, type PredictedShift } from './predicted-shift.ts';
import type { SetLikelihood } from './set-likelihood.ts';

/**
 * Judgement: a cause of one size that shows less than a seventh of it is another; so large and so unsure, it would pass
 * for a little of anything.
 */
const LEAST_SHARE = 0.15;
const MOST_ROUNDS = 6;
/** A size changes by no more than these factors in one round, and is fitted once it changes by less than a fiftieth. */
const STEP_LOW = 0.2;
const STEP_HIGH = 8;
const FITTED_SHARE = 0.02;
/** Standard deviations squared: less is no shift at all. */
const LEAST_LENGTH = 1e-9;

/** The causes that stand beside the one that is fitted, and what they do to the observed gauges. */
export interface Surroundings {
  readonly causes: readonly Candidate[];
  readonly shift: Float64Array;
}

interface Fit {
  readonly candidate: Candidate;
  readonly shift: PredictedShift;
}

export function fittedCandidate(
  likelihood: SetLikelihood,
  hypothesis: Hypothesis,
  start: number,
  around: Surroundings,
): Candidate | null {
  const { evidence, expectation } = likelihood;
  const fit = fitSize(likelihood, hypothesis, start, around);
  if (!fit) return null;
  const { candidate, shift } = fit;
  const set = [...around.causes, candidate];
  if (shift.changed && !isDeliverable(evidence, expectation.gauges, shift.changed, set)) return null;
  const prior =
    logPrior(evidence, hypothesis) +
    around.causes.reduce((sum, other) => sum + logPrior(evidence, other.hypothesis) + occamFactor(other), 0);
  return {
    ...candidate,
    score:
      likelihood.logLikelihood(shift.ofGauges, set) + occamFactor(candidate) + prior + lookScore(evidence.looks, set),
  };
}

function fitSize(likelihood: SetLikelihood, hypothesis: Hypothesis, start: number, around: Surroundings): Fit | null {
  const { size, effect } = hypothesis;
  const aim = likelihood.whitened(likelihood.left(around.shift));
  let candidate: Candidate = {
    hypothesis,
    size: size.fixed ? 1 : Math.min(size.high, Math.max(size.low, start)),
    sizeSd: 0,
    score: 0,
  };
  for (let round = 0; ; round += 1) {
    const shift = predictedShift(likelihood.expectation, likelihood.evidence, [...around.causes, candidate]);
    if (!shift) return null;
    const own = likelihood.whitened(shift.ofGauges.map((total, row) => total - around.shift[row]!));
    const length = dot(own, own);
    if (!(length > LEAST_LENGTH)) return null;
    candidate = { ...candidate, sizeSd: 1 / Math.sqrt(length) };
    // Share of this size that the residuals show.
    const share = dot(own, aim) / length;
    if (effect.kind !== 'swap' && share <= leastShare(hypothesis)) return null;
    if (size.fixed || round === MOST_ROUNDS) return { candidate, shift };
    const step = Math.min(STEP_HIGH, Math.max(STEP_LOW, share));
    const next = Math.min(size.high, Math.max(size.low, candidate.size * step));
    if (Math.abs(next / candidate.size - 1) < FITTED_SHARE) return { candidate, shift };
    candidate = { ...candidate, size: next };
  }
}

/** A gate that was ordered to move may have moved a little. */
function leastShare({ size, moves }: Hypothesis): number {
  return size.fixed && moves === undefined ? LEAST_SHARE : 0;
}
