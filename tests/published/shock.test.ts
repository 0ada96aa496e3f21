/** Water hammer against published worked examples. */
import { describe, expect, it } from 'vitest';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { shockPa, velocityMps } from '../../gateway/core/hydraulics/shock.ts';
import { INCH, off, PSI, USGPM } from './us-units.ts';

// Open hydraulics test cases, water hammer: rho 1000 kg/m3, a 1000 m/s.
describe('Joukowsky', () => {
  it('2 m/s stopped at a = 1,000 m/s: 2.000 MPa, 203.9 m', () => {
    expect(shockPa(1000, 2)).toBeCloseTo(2e6, 6);
    expect(off(shockPa(1000, 2) / PA_PER_M, 203.9)).toBeLessThan(0.001);
  });

  it('600 mm steel, 12 mm wall: a 1,173.48 m/s, 1.7602 MPa for 1.5 m/s', () => {
    expect(off(shockPa(1173.48, 1.5), 1.7602e6)).toBeLessThan(1e-4);
  });

  it('a textbook sum that used the slow formula for a fast closing came out a third low (150 mm, 40 L/s, 500 m, 0.5 s)', () => {
    expect(off(shockPa(1400, velocityMps(0.04, 0.15)), 3.17e6)).toBeLessThan(0.002);
  });

  it('50 US gpm in 1 1/2 in hose stopped dead: 80 psi at a = 200 m/s (from the formula)', () => {
    expect(off(shockPa(200, velocityMps(50 * USGPM, 1.5 * INCH)) / PSI, 80)).toBeLessThan(0.01);
  });
});
