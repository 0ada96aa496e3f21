/**
 * What a head puts on the ground: how far it throws, how many millimetres an hour, how even.
 *
 * In: nozzle bore m, pressure Pa, flow m3/s, arc degrees. Out: m, m/s of depth (1 mm/h = 2.78e-7 m/s), seconds, per
 * cent. Throw of a rotating head: R = 1.35 sqrt(d h), R and h in m, d in mm: an upper bound for half-inch heads in
 * still air. Limit: wind is not modelled. It moves and thins the pattern; above 4 m/s evenness is severely impaired
 * (irrigation literature). A rate is a mean over the circle: the rim is drier, and so is the ground close to the head.
 */
import { PA_PER_M } from './constants.ts';
import { requireFinite, requireNotNegative, requirePositive, requireWithin } from './invariant.ts';

const MM_PER_M = 1000;

export function rotatingThrowM(nozzleBoreM: number, pressurePa: number): number {
  requirePositive('rotatingThrowM', 'nozzle bore', nozzleBoreM);
  requireFinite('rotatingThrowM', 'pressure', pressurePa);
  if (!(pressurePa > 0)) return 0;
  return 1.35 * Math.sqrt((nozzleBoreM * MM_PER_M * pressurePa) / PA_PER_M);
}

/** Throw at another pressure than the one it was stated for: by the same root law. */
export function throwAtPressureM(statedM: number, statedPa: number, pressurePa: number): number {
  requirePositive('throwAtPressureM', 'stated pressure', statedPa);
  requireFinite('throwAtPressureM', 'pressure', pressurePa);
  return pressurePa > 0 ? statedM * Math.sqrt(pressurePa / statedPa) : 0;
}

export function wettedAreaM2(throwM: number, arcDeg: number): number {
  requirePositive('wettedAreaM2', 'throw', throwM);
  requireWithin('wettedAreaM2', 'arc', arcDeg, 0, 360);
  return Math.PI * throwM * throwM * (arcDeg / 360);
}

/** Mean depth put down in a second, m/s. */
export function applicationRateMps(flowM3s: number, areaM2: number): number {
  requireNotNegative('applicationRateMps', 'area', areaM2);
  return flowM3s / areaM2;
}

/** Null where nothing is put down. */
export function timeToDepthS(depthM: number, rateMps: number): number | null {
  return rateMps > 0 ? depthM / rateMps : null;
}

/** Christiansen's coefficient, per cent, of depths caught over an area (Christiansen 1942). */
export function uniformityPercent(depths: readonly number[]): number {
  const mean = meanOf(depths);
  const deviation = depths.reduce((sum, depth) => sum + Math.abs(depth - mean), 0);
  return 100 * (1 - deviation / (depths.length * mean));
}

/** Mean of the driest quarter over the mean of all, per cent. */
export function lowQuarterPercent(depths: readonly number[]): number {
  const driest = depths.toSorted((a, b) => a - b).slice(0, Math.max(1, Math.floor(depths.length / 4)));
  return (100 * meanOf(driest)) / meanOf(depths);
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
