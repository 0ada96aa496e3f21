/**
 * No cause takes more water than the pump can give at the pressure measured. The figures follow from the pump curve of
 * the kit by the affinity laws, rise = s^2 f(q/s) (any textbook on centrifugal pumps).
 */
import { describe, expect, it } from 'vitest';
import { hypothesesOf } from '../../gateway/core/diagnosis/causes/causes.ts';
import { CauseIsolation } from '../../gateway/core/diagnosis/isolation/cause-isolation.ts';
import { withinReach } from '../../gateway/core/diagnosis/isolation/finding.ts';
import { readingNoiseOf, biasCovarianceOf } from '../../gateway/core/diagnosis/model/gauge-errors.ts';
import { type Boundary } from '../../gateway/core/diagnosis/model/gauge.ts';
import { mostFlowM3s } from '../../gateway/core/diagnosis/model/pump-limit.ts';
import { siteLayout } from '../support/drive.ts';
import { boundaryOf, modelledLay } from '../support/modelled-lay.ts';

const whole = siteLayout('larch-cove');
const layout = { ...whole, sensors: whole.sensors.filter(({ quantity }) => quantity !== 'flow') };
const { network, gauges, expectation, belief } = modelledLay(layout);
const { curveFlowM3s, curveRisePa } = layout.pumps[0]!.kit;

const boundary = (dischargePa: number, speedRatio = 1): Boundary =>
  boundaryOf(layout, { dischargePa, suctionPa: 0, speedRatio, levelM: 0.7 });
const most = (dischargePa: number, speedRatio = 1): number =>
  mostFlowM3s(expectation, belief, boundary(dischargePa, speedRatio))[0]!;

describe('what a pump can give', () => {
  it('is no less than its sheet says at a point of its curve, and little more', () => {
    curveFlowM3s.slice(1).forEach((flow, point) => {
      expect(most(curveRisePa[point + 1]!)).toBeGreaterThan(flow);
      expect(most(curveRisePa[point + 1]!)).toBeLessThan(flow + 0.25 * curveFlowM3s.at(-1)!);
    });
  });

  it('is nothing above shut-off, less at less speed, and most where the speed is not heard', () => {
    expect(most(1.3 * curveRisePa[0]!)).toBe(0);
    expect(most(800_000, 0.9)).toBeLessThan(most(800_000, 1));
    expect(most(800_000, NaN)).toBeGreaterThan(most(800_000, 1));
  });

  it('is not known of a pump that is not heard', () => {
    expect(most(NaN)).toBe(Infinity);
  });
});

describe('line ends that are gone at shut-off pressure', () => {
  function named(mostM3s: Float64Array): string[] {
    const now = boundary(0.97 * curveRisePa[0]!);
    const healthy = expectation.predict(belief, now)!;
    const jacobian = expectation.jacobian(belief, now, healthy);
    const observedGauges = gauges.flatMap(({ kind }, gauge) => (kind === 'end' ? [gauge] : []));
    const biasCovariance = biasCovarianceOf(expectation, belief, healthy, jacobian, { age: 0, far: 0 });
    const noise = readingNoiseOf(expectation, belief, jacobian, now);
    const block = (matrix: Float64Array): Float64Array =>
      Float64Array.from(
        observedGauges.flatMap((row) => observedGauges.map((column) => matrix[row * gauges.length + column]!)),
      );
    const found = new CauseIsolation(expectation, hypothesesOf(layout, network, gauges)).judge(
      {
        belief,
        boundary: now,
        healthy,
        jacobian,
        observedGauges,
        residual: Float64Array.from(observedGauges, (gauge) => 20_000 - healthy.values[gauge]!),
        referenceOffset: new Float64Array(observedGauges.length),
        covariance: block(biasCovariance).map((value, index) => value + block(noise)[index]!),
        biasCovariance,
        looks: [],
        hurt: new Set(),
        ordered: [],
        shapes: new Map(),
        stood: new Set(),
        mostM3s,
      },
      [],
    );
    return found.flatMap(({ rivals }) => rivals.slice(0, 5).map(({ hypothesis }) => hypothesis.cause));
  }

  it('are no burst hose, for the pump cannot feed one at that pressure; without that limit one would be named', () => {
    expect(named(Float64Array.of(Infinity))).toContain('hose-burst');
    expect(named(mostFlowM3s(expectation, belief, boundary(0.97 * curveRisePa[0]!)))).not.toContain('hose-burst');
  });
});

describe('a size that is told', () => {
  it('is no more than the pump can give, and none where it rounds to nothing', () => {
    expect(withinReach({ best: 0.05, low: 0.03, high: 0.07 }, 0.004)).toEqual({ best: 0.004, low: 0.004, high: 0.004 });
    expect(withinReach({ best: -0.002, low: -0.003, high: -0.001 }, 0.004)?.best).toBe(-0.002);
    expect(withinReach({ best: 1e-7, low: 0, high: 2e-7 }, 0.004)).toBeNull();
  });
});
