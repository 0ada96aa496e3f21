/**
 * How a set of causes is weighed: by rules that hold whatever the lay is. The order in which gauges are listed says
 * nothing; a cause of one size has that size; what was believed a moment ago goes on until nothing speaks for it.
 */
import { describe, expect, it } from 'vitest';
import { hypothesesOf } from '../../gateway/core/diagnosis/causes/causes.ts';
import type { Hypothesis } from '../../gateway/core/diagnosis/causes/hypothesis.ts';
import { tradeErrors } from '../../gateway/core/diagnosis/causes/swapped-sensors.ts';
import type { Candidate } from '../../gateway/core/diagnosis/isolation/candidate.ts';
import { CauseIsolation } from '../../gateway/core/diagnosis/isolation/cause-isolation.ts';
import { outflowOf } from '../../gateway/core/diagnosis/isolation/grounds.ts';
import type { IsolationEvidence } from '../../gateway/core/diagnosis/isolation/isolation-evidence.ts';
import { SetLikelihood } from '../../gateway/core/diagnosis/isolation/set-likelihood.ts';
import { fittedCandidate } from '../../gateway/core/diagnosis/isolation/size-fit.ts';
import { siteLayout } from '../support/drive.ts';
import { boundaryOf, modelledLay } from '../support/modelled-lay.ts';

const { layout, network, gauges, expectation, belief } = modelledLay(siteLayout('larch-cove'));
const hypotheses = hypothesesOf(layout, network, gauges);
const boundary = boundaryOf(layout, {
  dischargePa: 700_000,
  suctionPa: -10_000,
  flowM3s: 0.005,
  speedRatio: 1,
  levelM: 0.7,
});
const healthy = expectation.predict(belief, boundary)!;
const jacobian = expectation.jacobian(belief, boundary, healthy);
const LISTED = gauges.flatMap(({ kind }, gauge) => (kind === 'end' || kind === 'flow' ? [gauge] : []));
const sdOf = (gauge: number): number => (gauges[gauge]!.kind === 'flow' ? 1e-4 : 3_000);

const cause = (name: Hypothesis['cause'], place: string): Hypothesis =>
  hypotheses.find((one) => one.cause === name && one.place === place)!;
const BURST = cause('hose-burst', 'a-hose-1');
const LEAK = cause('leak', 'b-hose-2');

/** What one cause of this size does to every gauge. */
function shiftOf({ effect }: Hypothesis, size: number): Float64Array {
  const changed = expectation.predict(belief, boundary, [
    (settings) => {
      if (effect.kind === 'network') effect.apply(settings, size);
    },
  ])!;
  return changed.values.map((value, gauge) => value - healthy.values[gauge]!);
}

/** Gauges, listed so, are off by this. */
function evidence(off: Float64Array, observedGauges: readonly number[] = LISTED): IsolationEvidence {
  const size = observedGauges.length;
  const covariance = new Float64Array(size ** 2);
  const biasCovariance = new Float64Array(gauges.length ** 2);
  observedGauges.forEach((gauge, row) => {
    covariance[row * size + row] = sdOf(gauge) ** 2;
    biasCovariance[gauge * gauges.length + gauge] = sdOf(gauge) ** 2;
  });
  return {
    belief,
    boundary,
    healthy,
    jacobian,
    observedGauges,
    residual: Float64Array.from(observedGauges, (gauge) => off[gauge]!),
    referenceOffset: new Float64Array(size),
    covariance,
    biasCovariance,
    looks: [],
    hurt: new Set(),
    ordered: [],
    shapes: new Map(),
    stood: new Set(),
    mostM3s: Float64Array.of(Infinity),
  };
}
const ALONE = (size: number): { causes: Candidate[]; shift: Float64Array } => ({
  causes: [],
  shift: new Float64Array(size),
});

describe('the likelihood of a set of causes', () => {
  it('is the same in whatever order the gauges are listed', () => {
    const off = shiftOf(BURST, 1).map((value) => 0.8 * value);
    const set: Candidate[] = [{ hypothesis: BURST, size: 1, sizeSd: 0.1, score: 0 }];
    const told = (listed: readonly number[]): number => {
      const likelihood = new SetLikelihood(expectation, evidence(off, listed));
      return likelihood.logLikelihood(likelihood.shift(set)!, set);
    };
    const plain = told(LISTED);
    expect(told(LISTED.toReversed())).toBeCloseTo(plain, 6);
    expect(told([...LISTED.slice(1), LISTED[0]!])).toBeCloseTo(plain, 6);
  });
});

describe('the size of a cause', () => {
  const fitted = (hypothesis: Hypothesis, off: Float64Array, start: number): Candidate =>
    fittedCandidate(new SetLikelihood(expectation, evidence(off)), hypothesis, start, ALONE(LISTED.length))!;

  it('is its own where it has but one, wherever the search starts', () => {
    for (const start of [0.3, 1, 3]) expect(fitted(BURST, shiftOf(BURST, 1), start).size).toBe(1);
  });

  it('is what the gauges show where it may have any, wherever the search starts', () => {
    const size = 0.2;
    for (const start of [0.5 * size, 2 * size])
      expect(fitted(LEAK, shiftOf(LEAK, size), start).size / size).toBeCloseTo(1, 1);
  });
});

describe('how much water a cause takes', () => {
  const share = (hypothesis: Hypothesis, sizeSd: number): number => {
    const best: Candidate = { hypothesis, size: 0.5, sizeSd, score: 0 };
    const told = outflowOf(expectation, best, evidence(shiftOf(hypothesis, 0.5)))!;
    return (told.high - told.best) / told.best;
  };

  it('is told as surely as the gauges show its size; where it has but one, as surely as that is known', () => {
    expect(share(LEAK, 0.05)).toBeCloseTo(0.1, 6);
    expect(share(LEAK, 0.2)).toBeCloseTo(0.4, 6);
    const known = BURST.size.fixed ? BURST.size.spread : NaN;
    for (const sizeSd of [0.01, 0.4]) expect(share(BURST, sizeSd)).toBeCloseTo(known, 6);
  });
});

it('two gauges that traded places have traded them whichever is named first', () => {
  const [one, other] = [LISTED[0]!, LISTED.find((gauge) => gauge !== LISTED[0] && gauges[gauge]!.kind === 'end')!];
  const about = evidence(new Float64Array(gauges.length));
  const errors = (pair: readonly [number, number]): number[] => {
    const covariance = about.covariance.map(
      (value, at) => value + 100 * (1 + Math.floor(at / LISTED.length)) * (1 + (at % LISTED.length)),
    );
    tradeErrors(covariance, about, gauges, pair);
    return [...covariance];
  };
  expect(errors([other, one])).toEqual(errors([one, other]));
});

describe('what was believed a moment ago', () => {
  const isolation = new CauseIsolation(expectation, [LEAK]);
  const whole = shiftOf(LEAK, 1);

  /** A leak that is barely felt: log odds of it against nothing are these. */
  function barely(odds: number): { readonly off: Float64Array; readonly leak: Candidate } {
    const at = (share: number): { off: Float64Array; leak: Candidate; gain: number } => {
      const off = whole.map((value) => share * value);
      const likelihood = new SetLikelihood(expectation, evidence(off));
      const leak = fittedCandidate(likelihood, LEAK, share, ALONE(LISTED.length))!;
      return { off, leak, gain: leak.score - likelihood.logPosterior([]) };
    };
    let [low, high] = [0.01, 1];
    for (let round = 0; round < 40; round += 1) {
      const middle = (low + high) / 2;
      if (at(middle).gain < odds) low = middle;
      else high = middle;
    }
    return at(high);
  }
  const names = (off: Float64Array, before: readonly Candidate[]): string[] =>
    isolation.judge(evidence(off), before).map(({ best }) => best.hypothesis.cause);

  it('goes on while it explains more than nothing does, though by too little to be named anew', () => {
    const { off, leak } = barely(0.5);
    expect(names(off, [leak])).toEqual(['leak']);
    expect(names(off, [])).toEqual([]);
  });

  it('is over when it does not', () => {
    const { off, leak } = barely(-0.5);
    expect(names(off, [leak])).toEqual([]);
  });
});
