/**
 * Starts a solve from the solution of a neighbouring state, with next to no work: the linear system at that solution is
 * kept, and only the links whose numbers have changed since are worked out anew.
 *
 * In: an assembly with its settings in force, a converged solution. Out: flows to begin with, and in the scratch the
 * linear system there. One neighbour a network is kept, which is what the usual loops need: many small changes, one
 * base. It serves as long as the same links are open and the same pressures known; otherwise it is made anew.
 */
import type { Assembly } from './assembly.ts';
import { addShare, evaluate } from './linearise.ts';
import type { KeptSystem } from './scratch.ts';
import type { Solution } from './solution.ts';

/** Judgement: an outlet is settled when it takes its pressure to a thousandth. */
const SETTLED = 1e-3;
const MOST_SETTLINGS = 6;

/**
 * Flows at the neighbour, with its linear system and what has changed since; null: another neighbour is kept, or none.
 */
export function resume(net: Assembly, wet: Uint8Array, start: Solution): Float64Array | null {
  const { kept } = net.warmStart;
  if (kept?.of !== start || kept.wet !== wet || !samePressures(net, kept)) return null;
  restore(net, kept);
  const flow = kept.flow.slice();
  renewChanged(net, kept, flow);
  return flow;
}

/** Keeps the linear system at `start`, as it stands in the scratch, for the next that begin there. */
export function remember(net: Assembly, wet: Uint8Array, start: Solution, flow: Float64Array): void {
  net.warmStart.kept = keep(net, wet, start, flow);
  settleOutlets(net, flow);
}

/** Of sources and pumps: those of nodes are part of the solution. */
function samePressures({ nodeCount, scratch }: Assembly, { pressure }: KeptSystem): boolean {
  for (let i = nodeCount; i < pressure.length; i++) if (pressure[i] !== scratch.pressure[i]) return false;
  return true;
}

function keep({ scratch }: Assembly, wet: Uint8Array, of: Solution, flow: Float64Array): KeptSystem {
  return {
    of,
    wet,
    flow: flow.slice(),
    pressure: scratch.pressure.slice(),
    strength: scratch.strength.slice(),
    exponent: scratch.exponent.slice(),
    loss: scratch.loss.slice(),
    conductance: scratch.conductance.slice(),
    drop: scratch.drop.slice(),
    rightSide: scratch.rightSide.slice(),
    matrix: scratch.matrix.slice(),
  };
}

function restore({ scratch }: Assembly, kept: KeptSystem): void {
  scratch.pressure.set(kept.pressure);
  scratch.loss.set(kept.loss);
  scratch.conductance.set(kept.conductance);
  scratch.drop.set(kept.drop);
  scratch.rightSide.set(kept.rightSide);
  scratch.matrix.set(kept.matrix);
}

function renewChanged(net: Assembly, kept: KeptSystem, flow: Float64Array): void {
  const { active, activeCount, strength, exponent } = net.scratch;
  const headStart = net.pipeCount + net.gateCount + net.pumpCount;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    if (strength[k] !== kept.strength[k] || exponent[k] !== kept.exponent[k]) renew(net, flow, k);
  }
  for (let head = 0; head < net.headCount; head++) {
    const lateral = net.laterals.pipe[head]!;
    if (lateral >= 0 && strength[lateral] !== kept.strength[lateral] && net.scratch.open[headStart + head] === 1)
      renew(net, flow, headStart + head);
  }
}

/** Every outlet that does not take the pressure it has. */
function settleOutlets(net: Assembly, flow: Float64Array): void {
  const { active, activeCount } = net.scratch;
  const outletStart = net.pipeCount + net.gateCount + net.pumpCount;
  for (let n = activeCount - 1; n >= 0 && active[n]! >= outletStart; n--) {
    if (isUnsettled(net, active[n]!)) renew(net, flow, active[n]!);
  }
}

function isUnsettled({ scratch }: Assembly, k: number): boolean {
  const along = scratch.drop[k]!;
  return along > 0 && Math.abs(along - scratch.loss[k]!) > SETTLED * along;
}

/**
 * Puts one link into the linear system as it is now. An outlet is given the flow that it has at the pressure there was
 * before: a nozzle that changed is then right at once, and what remains for the network to do is small.
 */
function renew(net: Assembly, flow: Float64Array, k: number): void {
  const { loss, conductance, drop } = net.scratch;
  const isOutlet = k >= net.pipeCount + net.gateCount + net.pumpCount;
  addShare(net, k, flow, -1);
  evaluate(net, k, flow);
  for (let i = 0; i < MOST_SETTLINGS && isOutlet && isUnsettled(net, k); i++) {
    flow[k] = Math.max(flow[k]! + conductance[k]! * (drop[k]! - loss[k]!), 0);
    evaluate(net, k, flow);
  }
  addShare(net, k, flow, 1);
}
