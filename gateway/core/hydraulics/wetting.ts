/**
 * What a head puts on the ground: how large a circle, how many millimetres an hour, how even.
 *
 * In: throw m, arc degrees, flow m3/s. Out: m2, m/s of depth (1 mm/h = 2.78e-7 m/s), seconds, per cent. Limit: wind is
 * not modelled. It moves and thins the pattern; above 4 m/s evenness is severely impaired
 * (irrigation literature). A rate is a mean over the circle: the rim is drier, and so is the ground close to the head.
 */
import { requireNotNegative, requirePositive, requireWithin } from './invariant.ts';

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

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
