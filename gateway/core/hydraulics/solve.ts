/**
 * Pressures and flows of a network at rest in its present settings: one steady state.
 *
 * In: an assembly or network, settings, and for speed the solution of a neighbouring state. Out: gauge Pa and m3/s.
 * The method is in newton.ts, the laws in link-loss.ts. Nodes that no running source reaches are given air pressure and
 * no flow. 'Did not converge' is an ordinary answer: `fault` names the element with the worst closure.
 * Limit: the velocity head is left out of pressures, as in most network engines: 0.5 kPa at 1 m/s, 8 kPa at 4 m/s.
 * Limit: water that drains back through a stopped pump without a non-return valve is not a steady state, and not here.
 */
import type { Assembly } from './assembly.ts';
import { TRICKLE_MPS } from './hose-table.ts';
import { applySettings } from './apply-settings.ts';
import { CLOSED_M3S, nozzleAt, suctionLoss } from './link-loss.ts';
import { linearise } from './linearise.ts';
import { iterate } from './newton.ts';
import type { End } from './newton.ts';
import { discharge } from './nozzle.ts';
import { middleFlow } from './pump-curve.ts';
import { requireSameSize } from './settings.ts';
import type { Settings } from './settings.ts';
import type { Fault, Solution } from './solution.ts';
import { remember, resume } from './warm-start.ts';
import { isSplit } from './lumped-laterals.ts';

/** Throws RangeError where settings or start belong to another network. */
export function solve(network: Assembly, settings: Settings, start?: Solution): Solution {
  requireSameSize(network, settings);
  if (start && start.flowM3s.length !== network.linkCount)
    throw new RangeError(`solve: a start of ${start.flowM3s.length} links for a network of ${network.linkCount}`);
  const net = isSplit(network.laterals, settings) ? network.withoutLaterals() : network;
  const wet = applySettings(net, settings);
  const cutOff = demandCutOff(net, wet);
  const flow = begin(net, wet, start?.converged ? start : undefined);
  return report(net, flow, wet, cutOff ? { iterations: 0, fault: cutOff } : iterate(net, wet, flow));
}

/** Flows to begin with, and the linear system there. */
function begin(net: Assembly, wet: Uint8Array, start: Solution | undefined): Float64Array {
  const resumed = start ? resume(net, wet, start) : null;
  if (resumed) return resumed;
  const flow = startingState(net, wet, start);
  linearise(net, wet, flow);
  if (start) remember(net, wet, start, flow);
  return flow;
}

/** Judgement: Pa at a nozzle and m/s in a hose, near where such lays work. */
const USUAL_HEAD_PA = 2e5;
const USUAL_SPEED_MPS = 1;

/** Flows to begin with, from `start` where it has one; node pressures go to the scratch vector. */
function startingState(net: Assembly, wet: Uint8Array, start?: Solution): Float64Array {
  const { active, activeCount, pressure, strength, exponent } = net.scratch;
  for (let i = 0; i < net.nodeCount; i++) pressure[i] = start && wet[i] === 1 ? start.pressurePa[i]! : 0;
  const flow = new Float64Array(net.linkCount);
  const gateStart = net.pipeCount;
  const pumpStart = gateStart + net.gateCount;
  const outletStart = pumpStart + net.pumpCount;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    const before = start ? start.flowM3s[k]! : 0;
    if (before !== 0) flow[k] = before;
    else if (k >= outletStart) {
      const pressurePa = start ? pressure[net.from[k]!]! + net.liftPa[k]! : USUAL_HEAD_PA;
      flow[k] = pressurePa > 0 ? discharge(strength[k]!, exponent[k]!, pressurePa) : CLOSED_M3S;
    } else if (k < gateStart) flow[k] = (USUAL_SPEED_MPS * net.pipes.trickleM3s[k]!) / TRICKLE_MPS;
    else if (k < pumpStart) flow[k] = (USUAL_SPEED_MPS * net.gateTrickleM3s[k - gateStart]!) / TRICKLE_MPS;
    else flow[k] = strength[k]! * middleFlow(net.pumpCurves[k - pumpStart]!);
  }
  return flow;
}

function demandCutOff(net: Assembly, wet: Uint8Array): Fault | null {
  if (!net.hasDemands) return null;
  let node = 0;
  while (node < net.nodeCount && (wet[node] === 1 || net.nodeDemandM3s[node]! <= 0)) node++;
  if (node === net.nodeCount) return null;
  const element = net.nodeName[node]!;
  return {
    code: 'hydraulics/demand-cut-off',
    element,
    words: `${element} must be supplied, but no running source reaches it`,
  };
}

function report(net: Assembly, flow: Float64Array, wet: Uint8Array, end: End): Solution {
  const { active, activeCount, pressure } = net.scratch;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    if (net.oneWay[k] === 1 && flow[k]! < 0) flow[k] = 0;
  }
  reportLaterals(net, flow, wet);
  const pumpStart = net.pipeCount + net.gateCount;
  const headStart = pumpStart + net.pumpCount;
  const leakStart = headStart + net.headCount;
  const window = (first: number, end: number) => new Float64Array(flow.buffer, 8 * first, end - first);
  const pumpFlowM3s = window(pumpStart, headStart);
  const suctionPa = new Float64Array(net.pumpCount);
  for (let i = 0; i < net.pumpCount; i++) {
    suctionPa[i] = pressure[net.pumpSupply[i]!]! + net.pumpLiftPa[i]! - suctionLoss(net, i, pumpFlowM3s[i]!)[0]!;
  }
  return {
    converged: end.fault === null,
    fault: end.fault,
    iterations: end.iterations,
    pressurePa: pressure.slice(0, net.nodeCount),
    wet: wet.subarray(0, net.nodeCount),
    flowM3s: flow,
    pipeFlowM3s: window(0, net.pipeCount),
    gateFlowM3s: window(net.pipeCount, pumpStart),
    pumpFlowM3s,
    headFlowM3s: window(headStart, leakStart),
    leakFlowM3s: window(leakStart, net.linkCount),
    suctionPa,
  };
}

/** What the solver left out: the flow of each lateral, and the pressure at its nozzle. */
function reportLaterals(net: Assembly, flow: Float64Array, wet: Uint8Array): void {
  const { pressure, strength, exponent } = net.scratch;
  const headStart = net.pipeCount + net.gateCount + net.pumpCount;
  for (let head = 0; head < net.headCount; head++) {
    const lateral = net.laterals.pipe[head]!;
    if (lateral < 0) continue;
    const k = headStart + head;
    const nozzle = net.outletNode[head]!;
    flow[lateral] = flow[k]!;
    if (wet[nozzle] === 0) pressure[nozzle] = 0;
    else if (exponent[k] === 0.5 && flow[k]! > strength[k]!) pressure[nozzle] = (flow[k]! / strength[k]!) ** 2;
    else if (flow[k]! > 0) pressure[nozzle] = nozzleAt(net, k, flow[k]!)[0]!;
    else pressure[nozzle] = pressure[net.from[k]!]! + net.liftPa[k]!;
  }
}
