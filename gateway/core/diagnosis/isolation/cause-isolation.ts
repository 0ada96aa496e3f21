/**
 * Lets every cause compete for the mean residual of the present segment, 'nothing' and 'none of these' included.
 *
 * Each candidate predicts a shift of all gauges (predicted-shift.ts); its size is fitted (size-fit.ts); it scores by
 * the likelihood of what is left (set-likelihood.ts), the Occam factor of its size, and how common it is
 * (cause-prior.ts). Causes are added one at a time, at most MOST_CAUSES, each only if the odds for it pass MIN_GAIN;
 * the set of a moment ago competes with a set grown afresh, so that a repair clears by itself.
 */
import type { Hypothesis } from '../causes/hypothesis.ts';
import type { Expectation } from '../model/expectation.ts';
import { dot } from '../../statistics/gaussian.ts';
import { occamFactor, type Candidate, type Found } from './candidate.ts';
import { logPrior } from './cause-prior.ts';
import type { IsolationEvidence } from './isolation-evidence.ts';
import { SetLikelihood } from './set-likelihood.ts';
import { shortlist } from './shortlist.ts';
import { fittedCandidate, type Surroundings } from './size-fit.ts';

const MOST_CAUSES = 3;
/** Log odds that one more cause must win by: 200 to 1. Judgement. */
const MIN_GAIN = 5.3;

export class CauseIsolation {
  readonly #expectation: Expectation;
  readonly #hypotheses: readonly Hypothesis[];

  constructor(expectation: Expectation, hypotheses: readonly Hypothesis[]) {
    this.#expectation = expectation;
    this.#hypotheses = hypotheses;
  }

  /** `before`: the causes that were believed a moment ago. */
  judge(evidence: IsolationEvidence, before: readonly Candidate[]): Found[] {
    const likelihood = new SetLikelihood(this.#expectation, evidence);
    const white = likelihood.whitened(evidence.residual);
    if (before.length === 0 && dot(white, white) < evidence.observedGauges.length + 2) return [];
    return new CauseSearch(likelihood, this.#hypotheses).found(before);
  }
}

/** The search over sets of causes in one judgement. */
class CauseSearch {
  readonly #likelihood: SetLikelihood;
  readonly #hypotheses: readonly Hypothesis[];
  /** Candidates already fitted, by the causes around them. */
  readonly #fitted = new Map<string, readonly Candidate[]>();

  constructor(likelihood: SetLikelihood, hypotheses: readonly Hypothesis[]) {
    this.#likelihood = likelihood;
    this.#hypotheses = hypotheses;
  }

  found(before: readonly Candidate[]): Found[] {
    const fresh = this.#grown([]);
    const continued = isSameSet(before, fresh) ? fresh : this.#grown(this.#refitted(before));
    const continues = this.#likelihood.logPosterior(continued) > this.#likelihood.logPosterior(fresh) + 1e-9;
    const winners = continues ? continued : fresh;
    return winners.map((winner) =>
      this.#rivals(
        winners.filter((other) => other !== winner),
        winner,
      ),
    );
  }

  /** The set with further causes added while each wins by enough. */
  #grown(start: readonly Candidate[]): readonly Candidate[] {
    const set = [...start];
    while (set.length < MOST_CAUSES) {
      const without = this.#likelihood.logPosterior(set);
      if (this.#ceiling(set) - without < MIN_GAIN) break;
      const best = this.#candidatesBeside(set)[0];
      if (!best || best.score - without < MIN_GAIN) break;
      set.push(best);
    }
    return set;
  }

  /**
   * What no set with one cause more can score above: a perfect fit of the likeliest cause that all inspections agree
   * with. A shift only widens the covariance, a trade of places reorders it before that, and a fitted size only costs,
   * so the bound is exact.
   */
  #ceiling(set: readonly Candidate[]): number {
    const { evidence, factor } = this.#likelihood;
    const likeliest = [...this.#hypotheses, ...evidence.ordered].reduce(
      (most, hypothesis) => Math.max(most, logPrior(evidence, hypothesis)),
      -Infinity,
    );
    return set.reduce(
      (sum, candidate) => sum + logPrior(evidence, candidate.hypothesis) + occamFactor(candidate),
      likeliest - 0.5 * factor.logDeterminant,
    );
  }

  /** The causes of a moment ago that still explain something, each at the size that fits now. */
  #refitted(before: readonly Candidate[]): Candidate[] {
    const out: Candidate[] = [];
    before.forEach(({ hypothesis, size }, index) => {
      const others = [...out, ...before.slice(index + 1)];
      const around = this.#surroundings(others);
      const fitted = around && fittedCandidate(this.#likelihood, hypothesis, size, around);
      if (fitted && fitted.score - this.#likelihood.logPosterior(others) > 0) out.push(fitted);
    });
    return out;
  }

  #surroundings(causes: readonly Candidate[]): Surroundings | null {
    const shift = this.#likelihood.shift(causes);
    return shift && { causes, shift };
  }

  #rivals(others: readonly Candidate[], best: Candidate): Found {
    const list = this.#candidatesBeside(others);
    const nothing = this.#likelihood.logPosterior(others);
    const unknown = this.#unexplained(others, nothing);
    const top = Math.max(nothing, unknown, ...list.map(({ score }) => score));
    const sum = list.reduce(
      (total, { score }) => total + Math.exp(score - top),
      Math.exp(nothing - top) + Math.exp(unknown - top),
    );
    const rivals = list.map((candidate) => ({ ...candidate, probability: Math.exp(candidate.score - top) / sum }));
    return { rivals, best: rivals[0] ?? best, unexplained: Math.exp(unknown - top) / sum };
  }

  /** Log posterior of something unknown beside these causes; `nothing`: of these causes alone. */
  #unexplained(others: readonly Candidate[], nothing: number): number {
    const shift = this.#likelihood.shift(others);
    if (!shift) return -Infinity;
    return this.#likelihood.logUnexplained(shift) + (nothing - this.#likelihood.logLikelihood(shift, others));
  }

  /** Best first. */
  #candidatesBeside(others: readonly Candidate[]): readonly Candidate[] {
    const key = others.map(({ hypothesis, size }) => `${hypothesis.cause} ${hypothesis.place} ${size}`).join();
    const known = this.#fitted.get(key);
    if (known) return known;
    const around = this.#surroundings(others);
    if (!around) return [];
    const candidates = shortlist(this.#likelihood, this.#hypotheses, this.#likelihood.left(around.shift))
      .filter(({ hypothesis }) => others.every((other) => other.hypothesis !== hypothesis))
      .flatMap(({ hypothesis, start }) => fittedCandidate(this.#likelihood, hypothesis, start, around) ?? [])
      .sort((a, b) => b.score - a.score);
    this.#fitted.set(key, candidates);
    return candidates;
  }
}

function isSameSet(one: readonly Candidate[], other: readonly Candidate[]): boolean {
  return (
    one.length === other.length &&
    one.every(({ hypothesis }) => other.some((candidate) => candidate.hypothesis === hypothesis))
  );
}
