/**
 * Pressure rise when moving water is stopped: Joukowsky, dp = rho a dv.
 *
 * In: wave speed m/s, change of velocity m/s. Out: Pa. Source: Joukowsky (1898). Valid for one hose without branches,
 * full of water without air, stopped at once: an upper bound, for closing slower than the wave needs to the far end and
 * back gives less. Limit: the wave speed of lay-flat hose is not published; kits carry an assumption within 100-400
 * m/s. A sensor that reads once a second cannot see the wave itself.
 */
import { WATER_DENSITY_KGM3 } from './constants.ts';
import { boreArea } from './friction.ts';
import { requirePositive } from './invariant.ts';

export function shockPa(waveSpeed: number, stoppedMps: number): number {
  requirePositive('shockPa', 'wave speed', waveSpeed);
  return WATER_DENSITY_KGM3 * waveSpeed * stoppedMps;
}

/** Velocity in a hose, m/s. */
export function velocityMps(flowM3s: number, boreM: number): number {
  return flowM3s / boreArea(boreM);
}
