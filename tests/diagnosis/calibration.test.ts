/**
 * Calibration against the plant's own truth: does what it says it learned hold, as often as it says so?
 *
 * The truth is the simulator's (another friction law, other bores, heights, orifices and pump curve a seed). Coverage
 * is judged by the chi-square distribution: upper 0.1 % point at 20 degrees of freedom 45.31 (standard tables).
 * Robustness: Huber, Annals of Mathematical Statistics 35 (1964) 73, from memory: one gross reading has a bounded
 * effect.
 */
import { describe, expect, it } from 'vitest';
import { offsetAt, type ParameterEstimate } from '../../gateway/core/diagnosis/model/parameter-estimate.ts';
import { calibrate, type Calibration, type SteadySpell } from '../../gateway/core/diagnosis/baseline/calibration.ts';
import { type Gauge } from '../../gateway/core/diagnosis/model/gauge.ts';
import { trueLay } from '../../simulator/truth.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { scenarioNamed, siteLayout, START_MS } from '../support/drive.ts';
import { modelledLay } from '../support/modelled-lay.ts';

const { layout, gauges, expectation, belief: prior } = modelledLay(siteLayout('larch-cove'));

/** Mean readings of a minute at each of these throttles, as the plant of this seed gives them. */
function spells(seed: number, throttles: readonly number[]): SteadySpell[] {
  const simulation = new Simulation(layout, { seed, startMs: START_MS, scenario: scenarioNamed('running') });
  return throttles.map((size) => {
    expect(simulation.carry({ do: 'start', what: 'throttle', size })).toBeNull();
    for (let second = 0; second < 60; second += 1) simulation.second();
    const sums = new Map<string, { sum: number; count: number }>();
    for (let second = 0; second < 60; second += 1) {
      for (const { sensor, value } of simulation.second()) {
        const was = sums.get(sensor.id) ?? { sum: 0, count: 0 };
        sums.set(sensor.id, { sum: was.sum + value, count: was.count + 1 });
      }
    }
    const mean = (id: string): number => sums.get(id)!.sum / sums.get(id)!.count;
    return spellOf(mean);
  });
}

function spellOf(mean: (sensor: string) => number): SteadySpell {
  const at = (kind: Gauge['kind']): Float64Array =>
    Float64Array.of(mean(gauges.find((gauge) => gauge.kind === kind)!.sensor.id));
  const rotation = layout.sensors.find((sensor) => sensor.quantity === 'rotation')!;
  const level = layout.sensors.find((sensor) => sensor.quantity === 'level')!;
  const covariance = new Float64Array(gauges.length ** 2);
  const means = Float64Array.from(gauges, (gauge) => mean(gauge.sensor.id));
  means.forEach(
    (value, row) =>
      (covariance[row * gauges.length + row] = gauges[row]!.sensor.noiseSd ** 2 / 60 + (0.0015 * value) ** 2),
  );
  return {
    means,
    covariance,
    boundary: {
      dischargePa: at('rise'),
      suctionPa: at('suction'),
      flowM3s: at('flow'),
      levelM: Float64Array.of(mean(level.id)),
      speedRatio: Float64Array.of(mean(rotation.id) / layout.pumps[0]!.kit.ratedRotationHz),
      gateOpening: Float64Array.from(layout.gates, (gate) => gate.opening),
    },
  };
}

function fitted(calibration: Calibration): Extract<Calibration, { ok: true }> {
  if (!calibration.ok) throw new Error(calibration.words);
  return calibration;
}

/** Mean factor of all heads, and its standard deviation. */
function allHeads({ mean, covariance, heads, size }: ParameterEstimate): { mean: number; sd: number } {
  let sum = 0;
  for (let i = 0; i < heads; i += 1) for (let j = 0; j < heads; j += 1) sum += covariance[i * size + j]!;
  return { mean: mean.subarray(0, heads).reduce((a, b) => a + b, 0) / heads, sd: Math.sqrt(sum) / heads };
}

const trueHeads = (seed: number): number => {
  const areas = trueLay(layout, seed).heads.map((head, i) => {
    const { k, exponent, turnPaMin, turnPaMax } = layout.heads[i]!.kit;
    const pressurePa = (turnPaMin + turnPaMax) / 2;
    return head.areaM2 / ((k * pressurePa ** exponent) / Math.sqrt((2 * pressurePa) / 1000));
  });
  return areas.reduce((a, b) => a + b, 0) / areas.length;
};

describe('calibration', () => {
  it('is as right about the heads as it says, over 20 lays', () => {
    let chiSquare = 0;
    let narrowed = 0;
    for (let seed = 9_700; seed < 9_720; seed += 1) {
      const { belief } = fitted(calibrate(expectation, prior, spells(seed, [0.95])));
      const after = allHeads(belief);
      chiSquare += ((after.mean - trueHeads(seed)) / after.sd) ** 2;
      if (after.sd < allHeads(prior).sd) narrowed += 1;
    }
    expect(narrowed).toBe(20);
    expect(chiSquare).toBeLessThan(45.31);
  });

  it('knows more from two throttle settings than from one, of every group', () => {
    const two = spells(9_731, [0.95, 0.75]);
    const one = fitted(calibrate(expectation, prior, two.slice(0, 1))).belief;
    const both = fitted(calibrate(expectation, prior, two)).belief;
    for (let i = 0; i < prior.size; i += 1) {
      const at = i * prior.size + i;
      expect(one.covariance[at]!).toBeLessThanOrEqual(prior.covariance[at]! * (1 + 1e-9));
      expect(both.covariance[at]!).toBeLessThan(one.covariance[at]! * (1 + 1e-6));
    }
    expect(allHeads(both).sd).toBeLessThan(0.95 * allHeads(one).sd);
  });

  it('never says that it knows one head from its neighbours', () => {
    const { belief, learned } = fitted(calibrate(expectation, prior, spells(9_741, [0.95])));
    layout.heads.forEach((_, head) => {
      const at = head * prior.size + head;
      expect(belief.covariance[at]!).toBeGreaterThan(0.8 * prior.covariance[at]!);
    });
    expect(learned.alike.at(-1)).toMatch(/only the sum is known/);
    expect(learned.learned.some((sentence) => sentence.includes('all heads together'))).toBe(true);
  });

  it('is moved little by one gauge that reads far off, and blames its offset', () => {
    const good = spells(9_751, [0.95])[0]!;
    const end = gauges.findIndex(({ kind }) => kind === 'end');
    const means = good.means.slice();
    const shift = 3 * Math.sqrt(prior.covariance[offsetAt(prior, end) * (prior.size + 1)]!);
    means[end]! += shift;
    const plain = fitted(calibrate(expectation, prior, [good])).belief;
    const pulled = fitted(calibrate(expectation, prior, [{ ...good, means }])).belief;
    expect(Math.abs(allHeads(pulled).mean - allHeads(plain).mean)).toBeLessThan(allHeads(plain).sd);
    const ends = (belief: ParameterEstimate) => expectation.predict(belief, good.boundary)!.values;
    gauges.forEach(({ kind }, gauge) => {
      if (kind === 'end' && gauge !== end)
        expect(Math.abs(ends(pulled)[gauge]! - ends(plain)[gauge]!)).toBeLessThan(0.1 * shift);
    });
  });

  it('refuses what the layout cannot explain, and a spell in which nothing spoke', () => {
    const good = spells(9_761, [0.95])[0]!;
    const end = gauges.findIndex(({ kind }) => kind === 'end');
    const means = good.means.slice();
    means[end]! *= 0.5;
    const refused = calibrate(expectation, prior, [{ ...good, means }]);
    expect(refused).toMatchObject({ ok: false, words: expect.stringContaining(gauges[end]!.sensor.label) });
    expect(calibrate(expectation, prior, [{ ...good, means: means.fill(NaN) }])).toMatchObject({ ok: false });
  });
});
