/**
 * The linear system of one Newton step: losses at flows as they are, and from them matrix and right side.
 *
 * In: an assembly with its settings in force, flows m3/s; node pressures Pa in its scratch. Out: in the scratch, loss
 * Pa and conductance m3/s per Pa of every active link, the node matrix and its right side. `addShare` and `addParts`
 * put in, or take out, one link at a time.
 */
import type { Assembly } from './assembly.ts';
import { linkLoss } from './link-loss.ts';

/** Losses, and from them the linear system, at flows and pressures as they are. */
export function linearise(net: Assembly, wet: Uint8Array, flow: Float64Array): void {
  const { active, activeCount, pressure, drop } = net.scratch;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    drop[k] = pressure[net.from[k]!]! - pressure[net.to[k]!]! + net.liftPa[k]!;
    evaluate(net, k, flow);
  }
  addAll(net, wet, flow);
}

/** Adds up the whole system from losses and conductances as they stand. */
export function addAll(net: Assembly, wet: Uint8Array, flow: Float64Array): void {
  const { active, activeCount, matrix, rightSide } = net.scratch;
  matrix.fill(0);
  for (let row = 0; row < net.system.size; row++) {
    const node = net.nodeOfRow[row]!;
    rightSide[row] = wet[node] === 1 ? -net.nodeDemandM3s[node]! : 0;
    if (wet[node] === 0) matrix[row] = 1;
  }
  for (let n = 0; n < activeCount; n++) addShare(net, active[n]!, flow, 1);
}

/** Loss and conductance of one link at its flow. */
export function evaluate(net: Assembly, k: number, flow: Float64Array): void {
  const pair = linkLoss(net, k, flow[k]!);
  net.scratch.loss[k] = pair[0]!;
  net.scratch.conductance[k] = 1 / pair[1]!;
}

/** Adds the share of one link to matrix and right side, or takes it out again. */
export function addShare(net: Assembly, k: number, flow: Float64Array, sign: 1 | -1): void {
  const { conductance, drop, loss } = net.scratch;
  const g = sign * conductance[k]!;
  addParts(net, k, g, sign * flow[k]! + g * (drop[k]! - loss[k]!));
}

/** Adds a conductance, and a flow from its `from` to its `to`, at the ends of a link. */
export function addParts({ rowFrom, rowTo, system, scratch }: Assembly, k: number, g: number, through: number): void {
  const { matrix, rightSide } = scratch;
  const a = rowFrom[k]!;
  const b = rowTo[k]!;
  if (a >= 0) {
    matrix[a]! += g;
    rightSide[a]! -= through;
    if (b >= 0) matrix[system.couplingIndex[k]!]! -= g;
  }
  if (b >= 0) {
    matrix[b]! += g;
    rightSide[b]! += through;
  }
}
