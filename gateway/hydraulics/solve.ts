/**
 * Pressures and flows of a network at rest in its present settings: one steady state.
 *
 * In: an assembly or network, settings, and for speed the solution of a neighbouring state. Out: gauge Pa and m3/s.
 * The method is in newton.ts, the laws in link-loss.ts.
 * Heads here are pressures raised by elevation, p + rho g z. Nodes that no running source reaches are given air
 * pressure and no flow. 'Did not converge' is an ordinary answer: `fault` names the element with the worst closure.
 */
import type { Assembly } from './assembly.ts';
import { PA_PER_M } from './constants.ts';
import { TRICKLE_MPS } from './assembly.ts';
import { applySettings, suctionLoss } from './link-loss.ts';
import { iterate } from './newton.ts';
import type { End, Fault } from './newton.ts';
import { discharge } from './nozzle.ts';
import { middleFlow } from './pump-curve.ts';
import { findWetNodes } from './reach.ts';
import type { Settings } from './settings.ts';

export interface Solution {
  readonly converged: boolean;
  readonly fault: Fault | null;
  readonly iterations: number;
  /** Per node, gauge, at its own height; 0 where no water comes. Below air pressure: water hangs there. */
  readonly pressurePa: Float64Array;
  /** Per node, 1: joined to a source that can push. */
  readonly wet: Uint8Array;
  /** Along each hose and feeder, positive from its `from` to its `to`. */
  readonly pipeFlowM3s: Float64Array;
  readonly gateFlowM3s: Float64Array;
  readonly pumpFlowM3s: Float64Array;
  readonly headFlowM3s: Float64Array;
  /** Per node. */
  readonly leakFlowM3s: Float64Array;
  /** Per pump, gauge at the eye. */
  readonly suctionPa: Float64Array;
  /** State for a warm start: flows of all links, heads of all nodes. */
  readonly flow: Float64Array;
  readonly head: Float64Array;
}

export function solve(net: Assembly, settings: Settings, start?: Solution): Solution {
  applySettings(net, settings);
  const wet = findWetNodes(net);
  const flow = startingState(net, wet, start);
  const cutOff = demandCutOff(net, wet);
  const end = cutOff ? { iterations: 0, fault: cutOff } : iterate(net, settings, wet, flow);
  return report(net, flow, wet, end);
}

/** m3/s, against the grain: how a closed non-return or nozzle is started, so that it can open if it should. */
const CLOSED_M3S = -1e-12;
/** Judgement: Pa at a nozzle and m/s in a hose, near where such lays work. */
const USUAL_HEAD_PA = 2e5;
const USUAL_SPEED_MPS = 1;

/** Flows to begin with, from `start` where it has one; heads go to the scratch vector. */
function startingState(net: Assembly, wet: Uint8Array, start: Solution | undefined): Float64Array {
  const { nodeCount, nodeElevationM, linkCount } = net;
  const { head, open, strength, exponent } = net.scratch;
  for (let i = 0; i < nodeCount; i++) {
    const known = start !== undefined && wet[i] === 1 && start.wet[i] === 1;
    head[i] = known ? start.head[i]! : PA_PER_M * nodeElevationM[i]!;
  }
  const flow = start ? start.flow.slice() : new Float64Array(linkCount);
  const pumpStart = net.pipeCount + net.gateCount;
  const outletStart = pumpStart + net.pumpCount;
  for (let k = 0; k < linkCount; k++) {
    if (open[k] === 0) flow[k] = 0;
    else if (flow[k] !== 0) continue;
    else if (k < net.pipeCount) flow[k] = (USUAL_SPEED_MPS * net.pipes.trickleM3s[k]!) / TRICKLE_MPS;
    else if (k < pumpStart) flow[k] = (USUAL_SPEED_MPS * net.gateTrickleM3s[k - net.pipeCount]!) / TRICKLE_MPS;
    else if (k < outletStart) flow[k] = strength[k]! * middleFlow(net.pumpCurves[k - pumpStart]!);
    else {
      const node = net.outletNode[k - outletStart]!;
      const pressurePa = start ? head[node]! - PA_PER_M * nodeElevationM[node]! : USUAL_HEAD_PA;
      flow[k] = pressurePa > 0 ? discharge(strength[k]!, exponent[k]!, pressurePa) : CLOSED_M3S;
    }
  }
  return flow;
}

function demandCutOff(net: Assembly, wet: Uint8Array): Fault | null {
  const node = net.nodeDemandM3s.findIndex((demand, i) => demand > 0 && wet[i] === 0);
  if (node < 0) return null;
  const element = net.nodeName[node]!;
  return { code: 'hydraulics/demand-cut-off', element, words: `${element} must be supplied, but no running source reaches it` };
}

function report(net: Assembly, flow: Float64Array, wet: Uint8Array, end: End): Solution {
  const { nodeCount, pipeCount, gateCount, pumpCount, headCount, nodeElevationM } = net;
  const { head } = net.scratch;
  const gateStart = pipeCount;
  const pumpStart = gateStart + gateCount;
  const headStart = pumpStart + pumpCount;
  const leakStart = headStart + headCount;
  const forward = (from: number, to: number) => flow.slice(from, to).map((q) => Math.max(q, 0));
  const pumpFlowM3s = forward(pumpStart, headStart);
  const suctionPa = pumpFlowM3s.map((q, i) => {
    const supply = net.from[pumpStart + i]!;
    return head[supply]! - PA_PER_M * net.pumpElevationM[i]! - suctionLoss(net, i, q)[0]!;
  });
  return {
    converged: end.fault === null,
    fault: end.fault,
    iterations: end.iterations,
    pressurePa: nodeElevationM.map((elevationM, i) => (wet[i] === 1 ? head[i]! - PA_PER_M * elevationM : 0)),
    wet,
    pipeFlowM3s: flow.slice(0, gateStart),
    gateFlowM3s: flow.slice(gateStart, pumpStart),
    pumpFlowM3s,
    headFlowM3s: forward(headStart, leakStart),
    leakFlowM3s: forward(leakStart, leakStart + nodeCount),
    suctionPa,
    flow,
    head: head.slice(0, nodeCount),
  };
}
