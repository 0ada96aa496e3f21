/** Which causes may stand for a residual at all. */
import { describe, expect, it } from 'vitest';
import { hypothesesOf } from '../../gateway/core/diagnosis/causes/causes.ts';
import { CauseIsolation } from '../../gateway/core/diagnosis/isolation/cause-isolation.ts';
import { scoreLay } from '../score/lays.ts';
import { boundaryOf, modelledLay } from '../support/modelled-lay.ts';

const { layout, network, gauges, expectation, belief } = modelledLay(scoreLay('street-60', 'fast'));
const hypotheses = hypothesesOf(layout, network, gauges);
const read = { dischargePa: 700_000, suctionPa: 0, flowM3s: 0.02, speedRatio: 1, levelM: 1 };
const boundary = { ...boundaryOf(layout, read), gateOpening: new Float64Array(layout.gates.length).fill(1) };
const healthy = expectation.predict(belief, boundary)!;
const bursts = hypotheses.filter(({ cause, subject }) => cause === 'hose-burst' && subject === 'trunk');
const middle = bursts[bursts.length >> 1]!;
const shifted = expectation.predict(belief, boundary, [
  (settings) => {
    if (middle.effect.kind === 'network') middle.effect.apply(settings, 1);
  },
])!;
const observedGauges = gauges.flatMap(({ kind }, gauge) => (kind === 'end' || kind === 'flow' ? [gauge] : []));

/** What is found where the gauges read so many times what a burst trunk would do to them. */
function found(times: number): string[] {
  const sd = observedGauges.map((gauge) => (gauges[gauge]!.kind === 'flow' ? 1e-4 : 3_000));
  const covariance = new Float64Array(observedGauges.length ** 2);
  sd.forEach((value, row) => {
    covariance[row * observedGauges.length + row] = value ** 2;
  });
  const biasCovariance = new Float64Array(gauges.length ** 2);
  observedGauges.forEach((gauge, row) => {
    biasCovariance[gauge * gauges.length + gauge] = sd[row]! ** 2;
  });
  const evidence = {
    belief,
    boundary,
    healthy,
    observedGauges,
    covariance,
    biasCovariance,
    jacobian: expectation.jacobian(belief, boundary, healthy),
    referenceOffset: new Float64Array(observedGauges.length),
    looks: [],
    hurt: new Set<string>(),
    ordered: [],
    shapes: new Map(),
    stood: new Set<string>(),
    mostM3s: new Float64Array([Infinity]),
    residual: Float64Array.from(observedGauges, (gauge) => times * (shifted.values[gauge]! - healthy.values[gauge]!)),
  };
  return new CauseIsolation(expectation, hypotheses)
    .judge(evidence, [])
    .map(({ best }) => `${best.hypothesis.cause} ${best.hypothesis.subject}`);
}

describe('a cause of one size', () => {
  it('is found where the gauges moved as it moves them', () => {
    expect(found(1)).toEqual(['hose-burst trunk']);
  });

  it.each([-0.06, 0.06])(
    'is not found where they moved by %f of it, though it is so large and so unsure that a little of anything would pass for it',
    (times) => {
      expect(found(times).filter((name) => name.startsWith('hose-burst'))).toEqual([]);
    },
  );
});
