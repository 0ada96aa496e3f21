/** Water hammer against published worked examples. */
import { describe, expect, it } from 'vitest';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import {
  closingShockPa,
  returnTimeS,
  shockPa,
  velocityMps,
  waveSpeedMps,
} from '../../gateway/core/hydraulics/shock.ts';
import { INCH, off, PSI, USGPM } from './us-units.ts';

// Open hydraulics test cases, water hammer: rho 1000 kg/m3, a 1000 m/s.
describe('Joukowsky', () => {
  it('2 m/s stopped at a = 1,000 m/s: 2.000 MPa, 203.9 m', () => {
    expect(shockPa(1000, 2)).toBeCloseTo(2e6, 6);
    expect(off(shockPa(1000, 2) / PA_PER_M, 203.9)).toBeLessThan(0.001);
  });

  it('1,000 m of pipe closed in 5 s against a return time of 2 s: four tenths of it, 0.8 MPa', () => {
    expect(returnTimeS(1000, 1000)).toBe(2);
    expect(closingShockPa(1000, 2, 1000, 5)).toBeCloseTo(0.8e6, 3);
    expect(closingShockPa(1000, 2, 1000, 1)).toBeCloseTo(2e6, 3);
  });

  it('600 mm steel, 12 mm wall: a 1,173.48 m/s, 1.7602 MPa for 1.5 m/s, return time 2.0452 s over 1,200 m', () => {
    const a = waveSpeedMps({ boreM: 0.6, thicknessM: 0.012, modulusPa: 200e9 }, 2.1e9);
    expect(a).toBeCloseTo(1173.48, 1);
    expect(off(shockPa(a, 1.5), 1.7602e6)).toBeLessThan(1e-4);
    expect(returnTimeS(1200, a)).toBeCloseTo(2.0452, 3);
  });

  it('a textbook sum that used the slow formula for a fast closing came out a third low (150 mm, 40 L/s, 500 m, 0.5 s)', () => {
    const v = velocityMps(0.04, 0.15);
    expect(returnTimeS(500, 1400)).toBeGreaterThan(0.5);
    expect(off(closingShockPa(1400, v, 500, 0.5), 3.17e6)).toBeLessThan(0.002);
  });

  it('50 US gpm in 1 1/2 in hose stopped dead: 80 psi at a = 200 m/s (from the formula)', () => {
    expect(off(shockPa(200, velocityMps(50 * USGPM, 1.5 * INCH)) / PSI, 80)).toBeLessThan(0.01);
  });
});
