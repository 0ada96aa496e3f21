/**
 * Lets every cause compete for the mean residual of the present segment, 'nothing' and 'none of these' included.
 *
 * Each candidate predicts a shift of all gauges; its size is fitted; its evidence is the Gaussian likelihood of what
 * is left (noise + belief's covariance + an error share of its own shift), times the Occam factor of its size (Laplace;
 * MacKay, Information Theory, Inference and Learning Algorithms, chapter 28), times how common it is. Causes are added
 * one at a time, at most MOST_CAUSES, each only if the odds for it pass MIN_GAIN; the set of a moment ago competes
 * with a set grown afresh, so that a repair clears by itself.
 */
import type { ParameterEstimate } from '../model/parameter-estimate.ts';
import { offsetAt } from '../model/parameter-estimate.ts';
import { logPrior } from './cause-prior.ts';
import type { Hypothesis } from '../causes/causes.ts';
import { isDeliverable } from './deliverable.ts';
import type { Change, Expectation, Prediction } from '../model/expectation.ts';
import type { Boundary } from '../model/gauge.ts';
import { cholesky, dot, whiten, type Cholesky } from '../../statistics/gaussian.ts';
import type { Shape } from '../residuals/shape.ts';
import type { Look } from '../../operations/entries.ts';
import { lookScore } from '../causes/inspections.ts';
import { sensitivity, type Observable } from '../../hydraulics/sensitivity.ts';
import { tradedShift, tradeErrors } from '../causes/swapped-sensors.ts';

export interface Evidence {
  readonly belief: ParameterEstimate;
  readonly boundary: Boundary;
  readonly healthy: Prediction;
  readonly jacobian: Float64Array;
  readonly kept: readonly number[];
  readonly residual: Float64Array;
  /** What each kept gauge was off by in what the residual is held against. */
  readonly was: Float64Array;
  /** Noise of the mean residual plus the belief's covariance; kept x kept. */
  readonly covariance: Float64Array;
  /** What all gauges may be off by against the model though nothing is wrong; gauges x gauges. */
  readonly standing: Float64Array;
  /** What people found where they looked. */
  readonly looks: readonly Look[];
  /** Heads that a pressure shock may have hurt. */
  readonly hurt: ReadonlySet<string>;
  /** Moves of gates that were ordered and are not yet seen. */
  readonly ordered: readonly Hypothesis[];
  /** How the residuals of the pumps' own gauges have come to what they are. */
  readonly shapes: ReadonlyMap<number, Shape>;
  /** Keys of what was found a moment ago. */
  readonly stood: ReadonlySet<string>;
  /** Most that each pump can give at its discharge pressure, m3/s. */
  readonly mostM3s: Float64Array;
}

export interface Candidate {
  readonly hypothesis: Hypothesis;
  readonly size: number;
  /** Relative standard deviation of the size. */
  readonly sizeSd: number;
  /** Log of prior x evidence. */
  readonly score: number;
}

export interface Found {
  /** Best first, with posterior probability given the other causes found. */
  readonly rivals: readonly (Candidate & { readonly probability: number })[];
  readonly best: Candidate;
  readonly unexplained: number;
}

/** Of the kept gauges; and the lay as it then is, null: nothing changes in it. */
interface Shift {
  readonly gauges: Float64Array;
  readonly changed: Prediction | null;
}

const MOST_CAUSES = 3;
/** Log odds that one more cause must win by: 200 to 1. Judgement. */
const MIN_GAIN = 5.3;
const LOG_PRIOR_UNEXPLAINED = Math.log(2e-6);
/** Judgement: a predicted shift is right to 4 %; something unknown moves gauges by about 8 % of what they read. */
const SHIFT_ERROR = 0.04;
const UNKNOWN_SHARE = 0.08;
/**
 * Judgement: a cause of one size that shows less than a seventh of it is another; so large and so unsure, it would pass
 * for a little of anything.
 */
const LEAST_SHARE = 0.15;
const SHORTLIST = 8;
/** Of fitting a size. */
const MOST_ROUNDS = 6;

export class CauseIsolation {
  readonly #expectation: Expectation;
  readonly #hypotheses: readonly Hypothesis[];
  /** Of the present judgement, by the causes around. */
  readonly #fitted = new Map<string, readonly Candidate[]>();

  constructor(expectation: Expectation, hypotheses: readonly Hypothesis[]) {
    this.#expectation = expectation;
    this.#hypotheses = hypotheses;
  }

  judge(evidence: Evidence, before: readonly Candidate[]): Found[] {
    const whole = cholesky(evidence.covariance, evidence.kept.length);
    const white = whiten(whole, evidence.residual);
    if (before.length === 0 && dot(white, white) < evidence.kept.length + 2) return [];
    this.#fitted.clear();
    const fresh = this.#grow(evidence, whole, []);
    const kept = isSame(before, fresh) ? fresh : this.#grow(evidence, whole, this.#refit(evidence, whole, before));
    const winners = this.#total(evidence, kept) > this.#total(evidence, fresh) + 1e-9 ? kept : fresh;
    return winners.map((winner) =>
      this.#rivals(
        evidence,
        whole,
        winners.filter((other) => other !== winner),
        winner,
      ),
    );
  }

  #grow(evidence: Evidence, whole: Cholesky, start: readonly Candidate[]): Candidate[] {
    const set = [...start];
    while (set.length < MOST_CAUSES) {
      const alone = this.#total(evidence, set);
      if (this.#ceiling(evidence, whole, set) - alone < MIN_GAIN) break;
      const best = this.#candidates(evidence, whole, set)[0];
      if (!best || best.score - alone < MIN_GAIN) break;
      set.push(best);
    }
    return set;
  }

  /**
   * What no set with one cause more can score above: a perfect fit of the likeliest cause that all looks agree with. A
   * shift only widens the covariance, a trade of places reorders it before that, and a fitted size only costs, so the
   * bound is exact.
   */
  #ceiling(evidence: Evidence, whole: Cholesky, set: readonly Candidate[]): number {
    const likeliest = [...this.#hypotheses, ...evidence.ordered].reduce(
      (most, hypothesis) => Math.max(most, logPrior(evidence, hypothesis)),
      -Infinity,
    );
    return set.reduce(
      (sum, { hypothesis, sizeSd }) => sum + logPrior(evidence, hypothesis) + occamFactor(hypothesis, sizeSd),
      likeliest - 0.5 * whole.logDeterminant,
    );
  }

  #refit(evidence: Evidence, whole: Cholesky, before: readonly Candidate[]): Candidate[] {
    const out: Candidate[] = [];
    before.forEach((candidate, index) => {
      const others = [...out, ...before.slice(index + 1)];
      const fitted = this.#fit(evidence, whole, candidate.hypothesis, others, candidate.size);
      if (fitted && fitted.score - this.#total(evidence, others) > 0) out.push(fitted);
    });
    return out;
  }

  /** Log of prior x evidence of a whole set at its sizes. */
  #total(evidence: Evidence, set: readonly Candidate[]): number {
    const shift = this.shift(evidence, set);
    if (!shift) return -Infinity;
    const occam = set.reduce((sum, candidate) => sum + occamFactor(candidate.hypothesis, candidate.sizeSd), 0);
    const prior = set.reduce((sum, { hypothesis }) => sum + logPrior(evidence, hypothesis), 0);
    return this.#likelihood(evidence, shift, set) + occam + prior + lookScore(evidence.looks, set);
  }

  #rivals(evidence: Evidence, whole: Cholesky, others: readonly Candidate[], best: Candidate): Found {
    const list = this.#candidates(evidence, whole, others);
    const around = this.shift(evidence, others);
    const nothing = this.#total(evidence, others);
    const unknown = around
      ? unexplainedScore(evidence, around, nothing - this.#likelihood(evidence, around, others))
      : -Infinity;
    const top = Math.max(nothing, unknown, ...list.map(({ score }) => score));
    const sum = list.reduce(
      (total, { score }) => total + Math.exp(score - top),
      Math.exp(nothing - top) + Math.exp(unknown - top),
    );
    const rivals = list.map((candidate) => ({ ...candidate, probability: Math.exp(candidate.score - top) / sum }));
    return { rivals, best: rivals[0] ?? best, unexplained: Math.exp(unknown - top) / sum };
  }

  /** Best first. */
  #candidates(evidence: Evidence, whole: Cholesky, others: readonly Candidate[]): readonly Candidate[] {
    const key = others.map(({ hypothesis, size }) => `${hypothesis.cause} ${hypothesis.place} ${size}`).join();
    const known = this.#fitted.get(key);
    if (known) return known;
    const around = this.shift(evidence, others);
    if (!around) return [];
    const left = evidence.residual.map((value, index) => value - around[index]!);
    const out: Candidate[] = [];
    for (const { hypothesis, start } of this.#shortlist(evidence, whole, whiten(whole, left))) {
      if (others.some((other) => other.hypothesis === hypothesis)) continue;
      const fitted = this.#fit(evidence, whole, hypothesis, others, start);
      if (fitted) out.push(fitted);
    }
    this.#fitted.set(
      key,
      out.sort((a, b) => b.score - a.score),
    );
    return out;
  }

  /** All fixed causes, and of every kind of sized cause the few whose slope points best along the residual. */
  #shortlist(evidence: Evidence, whole: Cholesky, white: Float64Array): { hypothesis: Hypothesis; start: number }[] {
    const { gauges, network } = this.#expectation;
    const rows = evidence.kept
      .map((gauge, row) => ({ gauge: gauges[gauge]!, row }))
      .filter(({ gauge }) => gauge.kind === 'end' || gauge.kind === 'flow');
    const observables = rows.map(({ gauge }): Observable =>
      gauge.kind === 'end' ? { kind: 'pressure', node: gauge.node } : { kind: 'pump-flow', pump: gauge.pump },
    );
    const sized = this.#hypotheses.filter(({ effect }) => effect.kind === 'network' && effect.slope);
    const parameters = sized.map(({ effect }) => (effect.kind === 'network' ? effect.slope!.parameter : null)!);
    const settings = this.#expectation.settings(evidence.belief, evidence.boundary);
    const block = sensitivity(network, settings, evidence.healthy.solution, observables, parameters);
    const scored = sized.map((hypothesis, column) => {
      const shift = new Float64Array(evidence.kept.length);
      const perSize = hypothesis.effect.kind === 'network' ? hypothesis.effect.slope!.perSize : 0;
      rows.forEach(({ row }, at) => {
        shift[row] = perSize * block[at * sized.length + column]!;
      });
      const slope = whiten(whole, shift);
      const length = dot(slope, slope);
      const along = dot(slope, white);
      return { hypothesis, start: along / length, gain: along > 0 && length > 0 ? along ** 2 / length : 0 };
    });
    const out: { hypothesis: Hypothesis; start: number }[] = [];
    for (const cause of new Set(scored.map(({ hypothesis }) => hypothesis.cause))) {
      out.push(
        ...scored
          .filter((entry) => entry.hypothesis.cause === cause && entry.gain > 0)
          .sort((a, b) => b.gain - a.gain)
          .slice(0, SHORTLIST),
      );
    }
    for (const hypothesis of [...this.#hypotheses, ...evidence.ordered]) {
      if (hypothesis.effect.kind !== 'network' || !hypothesis.effect.slope) out.push({ hypothesis, start: 1 });
    }
    return out;
  }

  #fit(
    evidence: Evidence,
    whole: Cholesky,
    hypothesis: Hypothesis,
    others: readonly Candidate[],
    start: number,
  ): Candidate | null {
    const { size } = hypothesis;
    const prior =
      logPrior(evidence, hypothesis) +
      others.reduce(
        (sum, other) => sum + logPrior(evidence, other.hypothesis) + occamFactor(other.hypothesis, other.sizeSd),
        0,
      );
    const around = this.shift(evidence, others);
    if (!around) return null;
    const aim = whiten(
      whole,
      evidence.residual.map((value, index) => value - around[index]!),
    );
    let candidate: Candidate = {
      hypothesis,
      size: size.fixed ? 1 : Math.min(size.high, Math.max(size.low, start)),
      sizeSd: 0,
      score: 0,
    };
    let now: Shift;
    let shift: Float64Array;
    for (let round = 0; ; round += 1) {
      const moved = this.#moved(evidence, [...others, candidate]);
      if (!moved) return null;
      now = moved;
      shift = now.gauges;
      const own = whiten(
        whole,
        shift.map((total, index) => total - around[index]!),
      );
      const length = dot(own, own);
      if (!(length > 1e-9)) return null;
      candidate = { ...candidate, sizeSd: 1 / Math.sqrt(length) };
      const ratio = dot(own, aim) / length;
      if (
        hypothesis.effect.kind !== 'swap' &&
        ratio <= (size.fixed && hypothesis.moves === undefined ? LEAST_SHARE : 0)
      )
        return null;
      if (size.fixed || round === MOST_ROUNDS) break;
      const next = Math.min(size.high, Math.max(size.low, candidate.size * Math.min(8, Math.max(0.2, ratio))));
      if (Math.abs(next / candidate.size - 1) < 0.02) break;
      candidate = { ...candidate, size: next };
    }
    if (now.changed && !isDeliverable(evidence, this.#expectation.gauges, now.changed, [...others, candidate]))
      return null;
    return {
      ...candidate,
      score:
        this.#likelihood(evidence, shift, [...others, candidate]) +
        occamFactor(hypothesis, candidate.sizeSd) +
        prior +
        lookScore(evidence.looks, [...others, candidate]),
    };
  }

  shift(evidence: Evidence, set: readonly Candidate[]): Float64Array | null {
    return this.#moved(evidence, set)?.gauges ?? null;
  }

  /** What all these causes together do; null where the model has no solution. */
  #moved(evidence: Evidence, set: readonly Candidate[]): Shift | null {
    const out = new Float64Array(evidence.kept.length);
    const changes: Change[] = [];
    for (const { hypothesis, size } of set) {
      const { effect } = hypothesis;
      if (effect.kind === 'network') changes.push((settings) => effect.apply(settings, size));
      else
        evidence.kept.forEach((gauge, row) => {
          out[row]! += this.#readingShift(evidence, effect, size, gauge);
        });
    }
    if (changes.length === 0) return { gauges: out, changed: null };
    const changed = this.#expectation.predict(evidence.belief, evidence.boundary, changes);
    if (!changed) return null;
    evidence.kept.forEach((gauge, row) => {
      const { kind, sensor } = this.#expectation.gauges[gauge]!;
      if (kind !== 'end' && kind !== 'flow') return;
      out[row]! += Math.max(sensor.min, changed.values[gauge]!) - evidence.healthy.values[gauge]!;
    });
    return { gauges: out, changed };
  }

  /** What a cause that leaves the network alone does to one gauge, SI. */
  #readingShift(
    evidence: Evidence,
    effect: Exclude<Hypothesis['effect'], { kind: 'network' }>,
    size: number,
    gauge: number,
  ): number {
    const { belief, jacobian } = evidence;
    switch (effect.kind) {
      case 'offset':
        return size * effect.unit * jacobian[gauge * belief.size + offsetAt(belief, effect.gauge)]!;
      case 'shift':
        return effect.moves.reduce((sum, move) => (move.gauge === gauge ? sum + size * move.unit : sum), 0);
      case 'swap': {
        const sign = effect.gauges[0] === gauge ? 1 : effect.gauges[1] === gauge ? -1 : 0;
        return sign === 0 ? 0 : sign * tradedShift(evidence, this.#expectation.gauges, effect.gauges);
      }
    }
  }

  /** Log of how likely the residual is under this shift; whatever makes the shift unsure widens it. */
  #likelihood(evidence: Evidence, shift: Float64Array, set: readonly Candidate[]): number {
    const size = evidence.kept.length;
    const covariance = Float64Array.from(evidence.covariance);
    for (const {
      hypothesis: { effect },
    } of set)
      if (effect.kind === 'swap') tradeErrors(covariance, evidence, this.#expectation.gauges, effect.gauges);
    const spread = Math.max(0, ...set.map(({ hypothesis }) => (hypothesis.size.fixed ? hypothesis.size.spread : 0)));
    for (let row = 0; row < size; row += 1) {
      covariance[row * size + row]! += (SHIFT_ERROR * shift[row]!) ** 2;
      for (let column = 0; column < size; column += 1)
        covariance[row * size + column]! += spread ** 2 * shift[row]! * shift[column]!;
    }
    const factor = cholesky(covariance, size);
    const white = whiten(
      factor,
      evidence.residual.map((value, index) => value - shift[index]!),
    );
    return -0.5 * dot(white, white) - 0.5 * factor.logDeterminant;
  }
}

function isSame(one: readonly Candidate[], other: readonly Candidate[]): boolean {
  return (
    one.length === other.length &&
    one.every(({ hypothesis }) => other.some((candidate) => candidate.hypothesis === hypothesis))
  );
}

function unexplainedScore(evidence: Evidence, around: Float64Array, others: number): number {
  const size = evidence.kept.length;
  const covariance = Float64Array.from(evidence.covariance);
  evidence.kept.forEach((gauge, row) => {
    covariance[row * size + row]! += (UNKNOWN_SHARE * evidence.healthy.values[gauge]!) ** 2;
  });
  const factor = cholesky(covariance, size);
  const white = whiten(
    factor,
    evidence.residual.map((value, index) => value - around[index]!),
  );
  return -0.5 * dot(white, white) - 0.5 * factor.logDeterminant + LOG_PRIOR_UNEXPLAINED + others;
}

/** Log of (width of the size's posterior / width of its prior, log-uniform), never above zero. */
function occamFactor(hypothesis: Hypothesis, sizeSd: number): number {
  if (hypothesis.size.fixed) return 0;
  const width = Math.log(hypothesis.size.high / hypothesis.size.low);
  return Math.min(0, Math.log((Math.sqrt(2 * Math.PI) * sizeSd) / width));
}
