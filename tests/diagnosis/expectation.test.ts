/**
 * What the gauges of a pump should read: suction by the standing water less what flow takes off it, and by the flow and
 * the errors of the gauges that are believed. Pressures and flows are invented.
 */
import { describe, expect, it } from 'vitest';
import { Expectation } from '../../gateway/core/diagnosis/model/expectation.ts';
import { gaugesOf, type Boundary, type GaugeKind } from '../../gateway/core/diagnosis/model/gauge.ts';
import {
  kitBelief,
  offsetAt,
  riseFactorAt,
  suctionFactorAt,
  type ParameterEstimate,
} from '../../gateway/core/diagnosis/model/parameter-estimate.ts';
import { outletOf } from '../../gateway/core/diagnosis/pump/outlet.ts';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { siteLayout } from '../support/drive.ts';
import { boundaryOf, modelledLay } from '../support/modelled-lay.ts';

const { layout, gauges, expectation, belief: kit } = modelledLay(siteLayout('larch-cove'));
const pump = layout.pumps[0]!;
const source = layout.sources.find(({ id }) => id === pump.source)!;
const LEVEL_M = 0.7;

const boundary = (flowM3s: number): Boundary =>
  boundaryOf(layout, { dischargePa: 700_000, suctionPa: -10_000, flowM3s, speedRatio: 0.95, levelM: LEVEL_M });
const gaugeOf = (kind: GaugeKind): number => gauges.findIndex((gauge) => gauge.kind === kind);
const reads = (kind: GaugeKind, flowM3s: number, belief: ParameterEstimate = kit): number =>
  expectation.predict(belief, boundary(flowM3s))!.values[gaugeOf(kind)]!;
const believing = (at: number, mean: number): ParameterEstimate => ({ ...kit, mean: kit.mean.with(at, mean) });

describe('the suction of a pump', () => {
  const standingPa = PA_PER_M * (source.elevationM + LEVEL_M - pump.elevationM);
  const lossPa = standingPa - reads('suction', 0.005);

  it('is what the water stands above its eye with no flow; flow takes more off it than the velocity head', () => {
    expect(reads('suction', 0)).toBeCloseTo(standingPa, 6);
    // Bernoulli: the water has its speed from somewhere.
    const speedMs = 0.005 / (Math.PI * (pump.suctionHose.boreM / 2) ** 2);
    expect(lossPa).toBeGreaterThan(500 * speedMs ** 2);
  });

  it('falls twice as far where its losses are believed to be twice those of the kit', () =>
    expect(standingPa - reads('suction', 0.005, believing(suctionFactorAt(kit, 0), 2))).toBeCloseTo(2 * lossPa, 6));

  it('goes by the flow that there is, not by what a flow meter reads that is believed to read too much', () => {
    const meter = offsetAt(kit, gaugeOf('flow'));
    expect(reads('suction', 0.006, believing(meter, 0.001))).toBeCloseTo(reads('suction', 0.005), 6);
    expect(reads('rise', 0.006, believing(meter, 0.001))).toBeCloseTo(reads('rise', 0.005), 6);
  });

  it('reads high by what its own gauge is believed to read too much', () =>
    expect(reads('suction', 0.005, believing(offsetAt(kit, gaugeOf('suction')), 3_000))).toBeCloseTo(
      reads('suction', 0.005) + 3_000,
      6,
    ));
});

it('the discharge of a pump that makes less than its sheet says is expected lower by that much', () => {
  const plain = reads('rise', 0.005);
  const risePa = plain + 10_000;
  expect(reads('rise', 0.005, believing(riseFactorAt(kit, 0), 0.9))).toBeCloseTo(plain - 0.1 * risePa, 3);
});

describe('the derivatives of what gauges should read', () => {
  it('are those of small steps, for what is believed of the pump and of its gauges', () => {
    const now = boundary(0.005);
    const derivative = expectation.jacobian(kit, now, expectation.predict(kit, now)!);
    expect(derivative.length).toBe(gauges.length * kit.size);
    const steps = [
      [riseFactorAt(kit, 0), 1e-4],
      [suctionFactorAt(kit, 0), 1e-4],
      [offsetAt(kit, gaugeOf('flow')), 1e-7],
      [offsetAt(kit, gaugeOf('suction')), 1],
      [offsetAt(kit, gaugeOf('end')), 1],
    ] as const;
    for (const [at, step] of steps) {
      const [up, down] = [step, -step].map((by) => expectation.predict(believing(at, kit.mean[at]! + by), now)!.values);
      gauges.forEach(({ sensor }, row) => {
        const slope = (up![row]! - down![row]!) / (2 * step);
        const told = derivative[row * kit.size + at]!;
        expect(Math.abs(told - slope), `${sensor.id} by ${at}`).toBeLessThan(
          0.02 * Math.abs(slope) + (1e-12 * Math.abs(up![row]!)) / step,
        );
      });
    }
  });
});

it('a burst of the hose at the outlet takes more than the lay, and the less the longer that hose is: it runs through it', () => {
  const isFirst = ({ from, to }: { readonly from: string; readonly to: string }): boolean =>
    from === pump.outlet || to === pump.outlet;
  const balance = (times: number): ReturnType<ReturnType<typeof outletOf>['balance']> => {
    const site = {
      ...layout,
      hoses: layout.hoses.map((hose) => (isFirst(hose) ? { ...hose, lengthM: times * hose.lengthM } : hose)),
    };
    const rigged = buildNetwork(site);
    const inputs = {
      expectation: new Expectation(site, rigged, gaugesOf(site, rigged)),
      belief: kitBelief(site, rigged, gauges),
      boundary: boundary(0.005),
      channels: new Map(),
      discharge: undefined,
      isIdle: () => true,
    };
    return outletOf(inputs, 0, 0).balance();
  };
  const [short, long] = [balance(1), balance(16)];
  expect(short.burstM3s).toBeGreaterThan(short.takesM3s);
  // Friction goes with the length: sixteen times of it leave far less.
  expect(short.burstM3s).toBeGreaterThan(1.5 * long.burstM3s);
});
