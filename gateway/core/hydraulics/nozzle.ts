/**
 * Discharge of heads, open fittings and leaks to air: q = K p^x, m3/s and Pa gauge.
 *
 * For a sharp opening x = 1/2 and K = Cd A sqrt(2/rho) (Torricelli). Heads with a plastic or rotating nozzle are
 * published with x between 0.48 and 0.55. Valid for free jets to air; a head under water or behind a clogged
 * feeder sees other back pressures.
 */
import { WATER_DENSITY_KGM3 } from './constants.ts';
import { boreArea } from './friction.ts';
import { requirePositive, requireWithin } from './invariant.ts';

/** Of holes and open fittings (Torricelli). */
export const TORRICELLI_EXPONENT = 0.5;

/** K of an opening of this bore, m3/s per sqrt(Pa). */
export function openingK(boreM: number, dischargeCoefficient: number): number {
  requirePositive('openingK', 'bore', boreM);
  requireWithin('openingK', 'discharge coefficient', dischargeCoefficient, 0, 1);
  return dischargeCoefficient * boreArea(boreM) * Math.sqrt(2 / WATER_DENSITY_KGM3);
}

/** Nothing is drawn in through a nozzle: below air pressure the flow is nil. */
export function discharge(k: number, exponent: number, pressurePa: number): number {
  if (!(pressurePa > 0)) return 0;
  return k * (exponent === 0.5 ? Math.sqrt(pressurePa) : pressurePa ** exponent);
}
