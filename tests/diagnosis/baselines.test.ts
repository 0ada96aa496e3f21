/** How far a baseline lies behind: bands widen with the hours since, and with the pressure away from what was walked. */
import { describe, expect, it } from 'vitest';
import { Baselines } from '../../gateway/core/diagnosis/baseline/baselines.ts';
import { hypothesesOf } from '../../gateway/core/diagnosis/causes/causes.ts';
import { CauseIsolation } from '../../gateway/core/diagnosis/isolation/cause-isolation.ts';
import { Expectation } from '../../gateway/core/diagnosis/model/expectation.ts';
import { gaugesOf, type Boundary } from '../../gateway/core/diagnosis/model/gauge.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const network = buildNetwork(layout);
const gauges = gaugesOf(layout, network);
const expectation = new Expectation(layout, network, gauges);
const isolation = new CauseIsolation(expectation, hypothesesOf(layout, network, gauges));
const HOUR_MS = 3_600_000;

const boundary = (dischargePa: number): Boundary => ({
  dischargePa: Float64Array.of(dischargePa),
  suctionPa: Float64Array.of(NaN),
  flowM3s: Float64Array.of(NaN),
  speedRatio: Float64Array.of(NaN),
  levelM: Float64Array.of(NaN),
  gateOpening: Float64Array.from(layout.gates, ({ opening }) => opening),
});

/** Walked at this pressure, every gauge exactly as the kit says. */
function walked(dischargePa: number): Baselines {
  const baselines = new Baselines(expectation, isolation);
  const means = expectation.predict(baselines.estimate, boundary(dischargePa))!.values;
  expect(baselines.take(boundary(dischargePa), means, 30, 0).ok).toBe(true);
  return baselines;
}

describe('a baseline', () => {
  it('is no way behind at the pressure at which it was taken, as far as the pressure is from it at another', () => {
    expect(walked(700_000).lag(0, boundary(700_000)).far).toBeCloseTo(0, 12);
    for (const pressurePa of [500_000, 900_000])
      expect(walked(700_000).lag(0, boundary(pressurePa)).far).toBeCloseTo(
        Math.abs(Math.log(pressurePa / 700_000)),
        12,
      );
  });

  it('stays as far behind for the minute in which readings of the other pressure still count', () => {
    const baselines = walked(700_000);
    const { far } = baselines.lag(0, boundary(500_000));
    expect(baselines.lag(59_000, boundary(700_000)).far).toBe(far);
    expect(baselines.lag(120_000, boundary(700_000)).far).toBeCloseTo(0, 12);
  });

  it('ages by one every four hours; before any there is nothing that lies behind', () => {
    const baselines = walked(700_000);
    expect(baselines.lag(2 * HOUR_MS, boundary(700_000)).age).toBe(0.5);
    expect(baselines.lag(8 * HOUR_MS, boundary(700_000)).age).toBe(2);
    expect(new Baselines(expectation, isolation).lag(HOUR_MS, boundary(400_000))).toEqual({ age: 0, far: 0 });
  });
});
