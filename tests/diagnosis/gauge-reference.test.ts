/**
 * A step against what was right before it: arithmetic by hand, for two gauges.
 *
 * Variance of a difference of independent means: s2/n + s2/m (any textbook of statistics; here with 0.7 of the readings
 * independent, as the history counts them: 1 + 0.7 (n - 1)).
 */
import { describe, expect, it } from 'vitest';
import { GaugeHistory } from '../../gateway/core/diagnosis/residuals/gauge-history.ts';
import { difference, References } from '../../gateway/core/diagnosis/residuals/gauge-reference.ts';
import type { Boundary, Gauge } from '../../gateway/core/diagnosis/model/gauge.ts';
import type { Prediction } from '../../gateway/core/diagnosis/model/expectation.ts';
import { scoreLay } from '../score/lays.ts';
import { Drive } from '../support/drive.ts';

const NOISE_PA = 1_000;
const noise = Float64Array.of(NOISE_PA ** 2, 0, 0, NOISE_PA ** 2);
/** The model is off by ten times the noise, and by the same at both gauges for a half of it. */
const biasCovariance = Float64Array.of(100, 50, 50, 100).map((times) => times * NOISE_PA ** 2);
const gauges = [{ kind: 'end' }, { kind: 'end' }] as unknown as readonly Gauge[];
const healthy = { values: Float64Array.of(400_000, 300_000) } as unknown as Prediction;
const boundaryAt = (dischargePa: number, speed: number): Boundary => ({
  dischargePa: Float64Array.of(dischargePa),
  suctionPa: Float64Array.of(0),
  flowM3s: Float64Array.of(0.01),
  speedRatio: Float64Array.of(speed),
  levelM: Float64Array.of(1),
  gateOpening: new Float64Array(0),
});

/**
 * Sixty seconds that are off by `zeroPa`, then `after` seconds with a step on the first gauge. Waves of one noise in
 * step with the second.
 */
function stepped(
  zeroPa: number,
  stepPa: number,
  afterS: number,
  options: { readonly stands?: boolean; readonly speed?: number; readonly speedFrom?: number } = {},
): { references: References; history: GaugeHistory; nowMs: number } {
  const history = new GaugeHistory([1, 1]);
  const references = new References();
  let nowMs = 0;
  for (let second = 0; second < 60 + afterS; second += 1) {
    nowMs = second * 1_000;
    const wave = second % 2 === 0 ? NOISE_PA : -NOISE_PA;
    history.file(0, nowMs, zeroPa + wave + (second >= 60 ? stepPa : 0));
    history.file(1, nowMs, zeroPa - wave);
    history.findChangePoint(nowMs, noise, [true, true]);
    references.observe(
      {
        atMs: nowMs,
        boundary: boundaryAt(600_000, second >= (options.speedFrom ?? 60) ? (options.speed ?? 1) : 1),
        trusted: [true, true],
      },
      history,
      noise,
      options.stands === true && second < 60,
    );
  }
  return { references, history, nowMs };
}

describe('what was right a moment ago', () => {
  it('takes the zero of a gauge out of a step, and leaves the noise of both spells', () => {
    const { references, history, nowMs } = stepped(20_000, 15_000, 8);
    const { observedGauges, residual, referenceOffset, covariance } = difference(
      references.reference!,
      history.segment(nowMs, noise, [true, true]),
      gauges,
      { healthy, biasCovariance, boundary: boundaryAt(600_000, 1) },
      nowMs,
    );
    expect(observedGauges).toEqual([0, 1]);
    expect(residual[0]).toBeCloseTo(15_000, -3);
    expect(Math.abs(residual[1]!)).toBeLessThan(500);
    expect(referenceOffset[0]).toBeCloseTo(20_000, -3);
    // 60 readings before, 8 after; waves of 0.4 kPa and 0.05 % on top, and next to no walk in so short a time.
    const means = NOISE_PA ** 2 * (1 / (1 + 0.7 * 59) + 1 / (1 + 0.7 * 7));
    const waves = 400 ** 2 + (0.0005 * 400_000) ** 2;
    expect(covariance[0]! / (means + waves)).toBeGreaterThan(0.95);
    expect(covariance[0]! / (means + waves)).toBeLessThan(1.15);
    expect(covariance[1]).toBe(0);
  });

  it('holds a gauge that was not heard before the break against the model, beside the others', () => {
    const { references, history, nowMs } = stepped(20_000, 15_000, 8);
    const { segment, ...rest } = references.reference!;
    const one = {
      ...rest,
      segment: { ...segment, observedGauges: [0], means: segment.means.slice(0, 1), noise: segment.noise.slice(0, 1) },
    };
    const now = history.segment(nowMs, noise, [true, true]);
    const { observedGauges, residual, referenceOffset, covariance } = difference(
      one,
      now,
      gauges,
      { healthy, biasCovariance, boundary: boundaryAt(600_000, 1) },
      nowMs,
    );
    expect(observedGauges).toEqual([0, 1]);
    expect(residual[0]).toBeCloseTo(15_000, -3);
    expect(residual[1]).toBe(now.means[1]);
    expect(referenceOffset[1]).toBe(0);
    expect(covariance[3]).toBeCloseTo(100 * NOISE_PA ** 2 + NOISE_PA ** 2 / (1 + 0.7 * 7), 0);
    // What the model errs by falls out of the one and stays in the other: nothing in common.
    expect(covariance[1]).toBe(0);
  });

  it('learns nothing while something stands, and lets go at another speed', () => {
    expect(stepped(0, 15_000, 8, { stands: true }).references.reference).toBeNull();
    expect(stepped(0, 15_000, 8).references.reference).not.toBeNull();
    expect(stepped(0, 15_000, 8, { speed: 0.97 }).references.reference).toBeNull();
  });

  it('does not lean on a segment that saw the throttle move', () => {
    expect(stepped(0, 15_000, 8, { speed: 0.9, speedFrom: 40 }).references.reference).toBeNull();
    expect(stepped(0, 15_000, 8, { speed: 0.9, speedFrom: 0 }).references.reference).not.toBeNull();
  });

  it('is forgotten after ten minutes', () => {
    const { references, history } = stepped(0, 15_000, 8);
    references.observe(
      { atMs: 640_000, boundary: boundaryAt(600_000, 1), trusted: [true, true] },
      history,
      noise,
      false,
    );
    expect(references.reference).not.toBeNull();
    references.observe(
      { atMs: 700_000, boundary: boundaryAt(600_000, 1), trusted: [true, true] },
      history,
      noise,
      false,
    );
    expect(references.reference).toBeNull();
  });
});

describe('a line end that is heard again only after the break', () => {
  it.each([9_530, 9_531])('tells a kinked hose from a plugged nozzle (seed %i)', (seed) => {
    const drive = new Drive(scoreLay('two-lines-8', 'fast'), { seed });
    drive.run(150);
    expect(drive.baseline()).toBeNull();
    drive.run(60);
    // Away for 150 s: it comes back 40 s after the break.
    drive.carry({ do: 'start', what: 'sensor-battery', at: 'end-1' });
    drive.run(110);
    drive.carry({ do: 'start', what: 'restriction', at: 'l1-hose-1', size: 50 });
    drive.run(60);
    expect(drive.standing).toEqual(['restriction line-1']);
  });
});
