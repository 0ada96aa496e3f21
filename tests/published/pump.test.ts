/** Pump curves, affinity and operating points against published figures. */
import { describe, expect, it } from 'vitest';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { evaluateRated, fitPumpCurve } from '../../gateway/core/hydraulics/pump-curve.ts';
import type { PumpCurve } from '../../gateway/core/hydraulics/pump-curve.ts';
import { FT, off, USGPM } from './us-units.ts';

const FT_PA = FT * PA_PER_M;
/** Only its design point known: shut-off at 4/3 of the pressure, run-out at twice the flow (EPANET manual). */
const onePoint = (flow: number, risePa: number): PumpCurve =>
  fitPumpCurve([0, flow, 2 * flow], [(4 / 3) * risePa, risePa, 0]);
const out = new Float64Array(2);
const rise = (curve: PumpCurve, flow: number, speed = 1): number => {
  evaluateRated(curve, flow / speed, out);
  return speed * speed * out[0]!;
};

describe('pump curves', () => {
  // 600 US gpm at 150 ft gives 147.05 ft at 617.42: EPANET manual, ch. 2.
  it('one point: shut-off at 4/3, run-out at twice the flow', () => {
    const curve = onePoint(600 * USGPM, 150 * FT_PA);
    expect(off(rise(curve, 0) / FT_PA, 200)).toBeLessThan(1e-6);
    expect(off(rise(curve, 617.4225 * USGPM) / FT_PA, 147.0541)).toBeLessThan(1e-5);
  });

  it('one point: 1,500 US gpm at 250 ft gives 204.348 ft at 1,866.18 (EPANET example network 1)', () => {
    expect(off(rise(onePoint(1500 * USGPM, 250 * FT_PA), 1866.18 * USGPM) / FT_PA, 204.348)).toBeLessThan(1e-5);
  });

  it('three points: C = ln((H0-H2)/(H0-H1)) / ln(Q2/Q1) = 1.9631546 (EPANET manual, ch. 3)', () => {
    const curve = fitPumpCurve([0, 40 * USGPM, 70 * USGPM], [600 * FT_PA, 480 * FT_PA, 240 * FT_PA]);
    expect(curve.power?.exponent).toBeCloseTo(1.9631546, 6);
    expect((curve.power!.coefficient * USGPM ** 1.9631546) / FT_PA).toBeCloseTo(0.08591913, 6);
  });

  // 0, 5,000, 7,850 US gpm at 81, 60, 20 ft, on a system 30 + 0.160 Q^2: R package "hydraulics", handbook.
  it('three points on a system: 12.05 ft3/s at 53.3 ft', () => {
    const curve = fitPumpCurve([0, 5000 * USGPM, 7850 * USGPM], [81 * FT_PA, 60 * FT_PA, 20 * FT_PA]);
    const cfs = FT ** 3;
    let low = 1;
    let high = 17;
    while (high - low > 1e-9) {
      const q = (low + high) / 2;
      if (rise(curve, q * cfs) / FT_PA > 30 + 0.16 * q * q) low = q;
      else high = q;
    }
    // The handbook fits a parabola by least squares, not through the points.
    expect(off(low, 12.053)).toBeLessThan(0.025);
    expect(off(30 + 0.16 * low * low, 53.276)).toBeLessThan(0.02);
  });

  // Flow of Fluids, TP-410, example 7.33.
  it('affinity: 400 US gpm and 126 ft at 3,500 rpm become 194.286 and 29.7257 at 1,700', () => {
    const curve = fitPumpCurve([0, 400 * USGPM, 600 * USGPM], [150 * FT_PA, 126 * FT_PA, 80 * FT_PA]);
    expect(off(rise(curve, 194.286 * USGPM, 1700 / 3500) / FT_PA, 29.7257)).toBeLessThan(1e-5);
  });

  it('passes through every point of a longer table and never rises between them', () => {
    const flow = [0, 1, 2, 3, 4, 5].map((q) => q * 1e-3);
    const points = [14e5, 13.9e5, 13e5, 9e5, 6e5, 2e5];
    const curve = fitPumpCurve(flow, points);
    flow.forEach((q, i) => expect(off(rise(curve, q), points[i]!)).toBeLessThan(1e-6));
    let before = Infinity;
    for (let q = 0; q < 7e-3; q += 1e-5) {
      const here = rise(curve, q);
      expect(here).toBeLessThan(before);
      before = here;
    }
  });

  // Four points or more: monotone cubic (Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238). Slope between unequal
  // steps h0, h1 of secants d0, d1 after Fritsch & Butland (1984), as in Moler, Numerical Computing with MATLAB, ch. 3
  // (from memory): (w1 + w2)/m = w1/d0 + w2/d1, w1 = 2 h1 + h0, w2 = h1 + 2 h0. By hand, h 1 and 2, d -1 and -3:
  // 9/m = 5/-1 + 4/-3, m = -27/19.
  it('weights unequal steps: slope -27/19 between secants of -1 over 1 and -3 over 2', () => {
    const curve = fitPumpCurve([0, 1, 3, 5], [20, 19, 13, 5]);
    expect(curve.power).toBeNull();
    expect(curve.slope[1]).toBeCloseTo(-27 / 19, 12);
  });

  it('ends as a parabola ends: three points at either end have its slope, 0 and -2 c q (calculus)', () => {
    const flow = [0, 1, 2.5, 4];
    const { slope } = fitPumpCurve(
      flow,
      flow.map((q) => 100 - 3 * q * q),
    );
    expect(slope[0]).toBeCloseTo(0, 12);
    expect(slope[3]).toBeCloseTo(-24, 12);
  });

  it('between two points runs straight', () => {
    const curve = fitPumpCurve([0, 2], [10, 4]);
    expect([...curve.slope]).toEqual([-3, -3]);
    expect(rise(curve, 1)).toBeCloseTo(7, 5);
  });

  it('refuses a curve that rises or has one point', () => {
    expect(() => fitPumpCurve([0, 1e-3], [1e5, 2e5])).toThrow(RangeError);
    expect(() => fitPumpCurve([0], [1e5])).toThrow(RangeError);
  });
});
