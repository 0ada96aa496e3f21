/**
 * Pressure rise when moving water is stopped: Joukowsky, dp = rho a dv.
 *
 * In: wave speed m/s, change of velocity m/s, hose length m, time of closing s. Out: Pa. Closing slower than the wave
 * needs to the far end and back, 2L/a, gives less in proportion. Sources: Joukowsky (1898); wave speed after Korteweg,
 * a = sqrt(K/rho) / sqrt(1 + K d / (E e)). Valid for one hose without branches, full of water without air.
 * Limit: the wave speed of lay-flat hose is not published; kits carry an assumption within 100-400 m/s. A sensor that
 * reads once a second cannot see the wave itself.
 */
import { WATER_DENSITY_KGM3 } from './constants.ts';
import { boreArea } from './friction.ts';
import { requireNotNegative, requirePositive } from './invariant.ts';

/** Pa, bulk modulus of water at 20 degC (water property tables: 2.18e9). */
export const WATER_BULK_MODULUS_PA = 2.18e9;

export interface Wall {
  readonly boreM: number;
  readonly thicknessM: number;
  /** Young's modulus, Pa. */
  readonly modulusPa: number;
}

export function waveSpeedMps(wall: Wall, bulkModulusPa = WATER_BULK_MODULUS_PA): number {
  requirePositive('waveSpeedMps', 'bore', wall.boreM);
  requirePositive('waveSpeedMps', 'wall', wall.thicknessM * wall.modulusPa);
  requirePositive('waveSpeedMps', 'bulk modulus', bulkModulusPa);
  const give = (bulkModulusPa * wall.boreM) / (wall.modulusPa * wall.thicknessM);
  return Math.sqrt(bulkModulusPa / WATER_DENSITY_KGM3 / (1 + give));
}

/** Seconds for the wave to the far end and back: closing within this counts as sudden. */
export function returnTimeS(lengthM: number, waveSpeed: number): number {
  requireNotNegative('returnTimeS', 'length', lengthM);
  requirePositive('returnTimeS', 'wave speed', waveSpeed);
  return (2 * lengthM) / waveSpeed;
}

export function shockPa(waveSpeed: number, stoppedMps: number): number {
  requirePositive('shockPa', 'wave speed', waveSpeed);
  return WATER_DENSITY_KGM3 * waveSpeed * stoppedMps;
}

export function closingShockPa(waveSpeed: number, stoppedMps: number, lengthM: number, closingS: number): number {
  requirePositive('closingShockPa', 'time of closing', closingS);
  const sudden = shockPa(waveSpeed, stoppedMps);
  const share = returnTimeS(lengthM, waveSpeed) / closingS;
  return share < 1 ? sudden * share : sudden;
}

/** Velocity in a hose, m/s. */
export function velocityMps(flowM3s: number, boreM: number): number {
  return flowM3s / boreArea(boreM);
}
