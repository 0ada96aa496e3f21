/**
 * What a source holds: volume at a depth, depth at a volume, and straight lines between the points of a table.
 *
 * In: shape, m, m3. Out: m3, m; open water holds without end and has no depth. Ways of its own, on purpose: the
 * gateway's are closed formulas.
 */
import type { Layout } from '../config/layout/layout.ts';

/** Straight lines between the points of the curve, going on past the last. */
export function curveAt(flows: readonly number[], rises: readonly number[], flow: number): number {
  let i = 1;
  while (i < flows.length - 1 && flow > flows[i]!) i += 1;
  return rises[i - 1]! + ((flow - flows[i - 1]!) * (rises[i]! - rises[i - 1]!)) / (flows[i]! - flows[i - 1]!);
}

type Shape = Layout['sources'][number]['shape'];

export function depthOf(shape: Shape): number {
  if (shape.kind === 'open-water') return 0;
  return shape.kind === 'dipped-tank' ? shape.depthsM.at(-1)! : shape.depthM;
}

export function sourceVolume(shape: Shape, depth: number): number {
  if (shape.kind === 'framed-tank') return shape.lengthM * shape.widthM * depth;
  if (shape.kind === 'dipped-tank') return curveAt(shape.depthsM, shape.volumesM3, depth);
  if (shape.kind === 'open-water') return Infinity;
  // Slices of a cone, added up: a way of its own, on purpose.
  const slices = 200;
  let sum = 0;
  for (let slice = 0; slice < slices; slice += 1) {
    const at = ((slice + 0.5) / slices) * depth;
    const radius = shape.baseRadiusM + ((shape.topRadiusM - shape.baseRadiusM) * at) / shape.depthM;
    sum += (Math.PI * radius ** 2 * depth) / slices;
  }
  return sum;
}

export function depthAt(shape: Shape, volume: number): number {
  let low = 0;
  let high = depthOf(shape);
  for (let round = 0; round < 30; round += 1) {
    const middle = (low + high) / 2;
    if (sourceVolume(shape, middle) < volume) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
