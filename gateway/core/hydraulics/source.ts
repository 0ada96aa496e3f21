/**
 * Volume of water in a source from its depth, and back: m and m3, over the whole depth of the tank.
 *
 * Framed tank: a box. Frustum: V = pi d/3 (R0^2 + R0 R + R^2) with R the radius at depth d, inverted in closed form.
 * Dipped tank: straight lines between the rows of its dip table, from an empty floor. Depths are clamped to the tank.
 * Limit: a tank on sloping ground, or with walls that bulge, holds another volume; a dip table is the answer there.
 */
import type { Mains, Source, SourceShape } from '../../../config/layout/layout.ts';
import { PA_PER_M } from './constants.ts';
import { HAZEN_WILLIAMS_EXPONENT } from './friction.ts';
import { requireFinite, requireNotNegative, requirePositive } from './invariant.ts';

/** Depth of the full source; open water: 0, its level is counted from its usual surface. */
export function sourceDepthM(shape: SourceShape): number {
  switch (shape.kind) {
    case 'framed-tank':
    case 'frustum-tank':
      return shape.depthM;
    case 'dipped-tank':
      return shape.depthsM.at(-1)!;
    case 'open-water':
      return 0;
  }
}

/**
 * Metres of water over the source's own height that its pressure at rest is worth: depth of a full tank, 0 of open
 * water, the static head of a hydrant.
 */
export function restLevelM({ shape, mains }: Pick<Source, 'shape' | 'mains'>): number {
  return mains === null ? sourceDepthM(shape) : mains.staticPa / PA_PER_M;
}

/**
 * What a hydrant loses while it runs, Pa per (m3/s)^1.852: c of p = static - c q^1.85, through the one flow test there
 * is (AWWA M17 and NFPA 291 write the exponent 1.85; the model has 1.852, 0.5 % apart at three times the tested flow).
 */
export function mainsLoss({ staticPa, residualPa, residualFlowM3s }: Mains): number {
  requirePositive('mainsLoss', 'fall from static to residual pressure', staticPa - residualPa);
  requirePositive('mainsLoss', 'flow', residualFlowM3s);
  return (staticPa - residualPa) / residualFlowM3s ** HAZEN_WILLIAMS_EXPONENT;
}

/** Null for open water: its volume is not a quantity of the site. */
export function volumeAtDepth(shape: SourceShape, depthM: number): number | null {
  requireFinite('volumeAtDepth', 'depth', depthM);
  requireNotNegative('volumeAtDepth', 'depth of the full source', sourceDepthM(shape));
  const depth = Math.min(Math.max(depthM, 0), sourceDepthM(shape));
  switch (shape.kind) {
    case 'framed-tank':
      return shape.lengthM * shape.widthM * depth;
    case 'frustum-tank': {
      const base = shape.baseRadiusM;
      const top = base + ((shape.topRadiusM - base) * depth) / shape.depthM;
      return (Math.PI / 3) * depth * (base * base + base * top + top * top);
    }
    case 'dipped-tank':
      return interpolate([0, ...shape.depthsM], [0, ...shape.volumesM3], depth);
    case 'open-water':
      return null;
  }
}

export function depthAtVolume(shape: SourceShape, volumeM3: number): number | null {
  requireFinite('depthAtVolume', 'volume', volumeM3);
  if (shape.kind === 'open-water') return null;
  const full = volumeAtDepth(shape, sourceDepthM(shape))!;
  requirePositive('depthAtVolume', 'volume of the full source', full);
  const volume = Math.min(Math.max(volumeM3, 0), full);
  switch (shape.kind) {
    case 'framed-tank':
      return volume / (shape.lengthM * shape.widthM);
    case 'frustum-tank': {
      const base = shape.baseRadiusM;
      const taper = (shape.topRadiusM - base) / shape.depthM;
      // R(d)^3 = R0^3 + 3 taper V / pi; the straight wall is its limit.
      if (Math.abs(taper) < 1e-9) return volume / (Math.PI * base * base);
      return (Math.cbrt(base ** 3 + (3 * taper * volume) / Math.PI) - base) / taper;
    }
    case 'dipped-tank':
      return interpolate([0, ...shape.volumesM3], [0, ...shape.depthsM], volume);
  }
}

function interpolate(xs: readonly number[], ys: readonly number[], x: number): number {
  let i = 1;
  while (i < xs.length - 1 && x > xs[i]!) i++;
  const width = xs[i]! - xs[i - 1]!;
  return width > 0 ? ys[i - 1]! + ((x - xs[i - 1]!) / width) * (ys[i]! - ys[i - 1]!) : ys[i]!;
}
