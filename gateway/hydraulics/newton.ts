/**
 * Newton's method for a network at rest: flows and heads together, one sparse symmetric solve a step.
 *
 * In: an assembly with its settings applied, flows m3/s to begin with, heads in the scratch vector. Out: both, converged,
 * or the name of the element with the worst closure.
 * Method: global gradient algorithm (Todini & Pilati 1987). After the first full step flows balance at every node
 * exactly. Each loss grows with flow, so the true state is the minimum of a convex function (the 'content' of the
 * network) and the Newton step leads downhill; where it would overshoot, it is shortened until the slope along it has
 * fallen by half.
 */
import type { Assembly } from './assembly.ts';
import { PA_PER_M } from './constants.ts';
import { factorise, substitute } from './linear-system.ts';
import { evaluateLosses } from './link-loss.ts';
import type { Settings } from './settings.ts';

export interface Fault {
  readonly code: 'hydraulics/not-converged' | 'hydraulics/demand-cut-off' | 'hydraulics/not-a-number';
  /** Name of the hose, gate, pump, head or place. */
  readonly element: string;
  readonly words: string;
}

export interface End {
  readonly iterations: number;
  readonly fault: Fault | null;
}

const MOST_ITERATIONS = 200;
/** Steps in which links pushed shut are left out of the test for overshoot, so that many can shut at once. */
const FREE_STEPS = 15;
/** Largest change of a flow in the last step, relative to the largest flow; the error left is about its square. */
const FLOW_CLOSURE = 1e-5;
/** m3/s, less than a drop an hour: for networks in which nothing flows. */
const FLOW_FLOOR_M3S = 1e-11;
/** Pa, along any link: a micron of water. */
const PRESSURE_CLOSURE_PA = 0.01;
const MOST_SHORTENINGS = 30;

export function iterate(net: Assembly, settings: Settings, wet: Uint8Array, flow: Float64Array): End {
  evaluateLosses(net, settings, flow);
  const senseless = linkWithoutSlope(net);
  if (senseless >= 0) return { iterations: 0, fault: notANumber(net.linkName[senseless]!) };
  for (let iterations = 1; iterations <= MOST_ITERATIONS; iterations++) {
    assembleMatrix(net, wet, flow);
    const singular = factorise(net.system);
    if (singular >= 0) return { iterations, fault: notANumber(net.nodeName[singular]!) };
    substitute(net.system, net.scratch.rightSide);
    const fall = stepFromHeads(net);
    move(net, flow, 1);
    evaluateLosses(net, settings, flow);
    if (isClosed(net, flow)) return { iterations, fault: null };
    if (!Number.isFinite(fall)) return { iterations, fault: notANumber(worstLink(net)) };
    // The first step makes flows balance, wherever it started from: it is not shortened.
    if (iterations > 1) shorten(net, settings, flow, fall, iterations <= FREE_STEPS);
  }
  const element = worstLink(net);
  const words = `no steady state found in ${MOST_ITERATIONS} steps; flow and pressure disagree most at ${element}`;
  return { iterations: MOST_ITERATIONS, fault: { code: 'hydraulics/not-converged', element, words } };
}

function notANumber(element: string): Fault {
  return { code: 'hydraulics/not-a-number', element, words: `the numbers of ${element} give no finite pressure or flow` };
}

/** Node balances, linearised at the present flows: conductances in the matrix, imbalance on the right. */
export function assembleMatrix(net: Assembly, wet: Uint8Array, flow: Float64Array): void {
  const { nodeCount, from, to, outletNode, nodeElevationM, nodeDemandM3s, system } = net;
  const { open, loss, slope, head, rightSide, pumpFrom } = net.scratch;
  const { values, diagonal, couplingIndex } = system;
  const pumpStart = net.pipeCount + net.gateCount;
  values.fill(0);
  for (let i = 0; i < nodeCount; i++) {
    rightSide[i] = wet[i] === 1 ? -nodeDemandM3s[i]! : 0;
    if (wet[i] === 0) values[diagonal[i]!] = 1;
  }
  for (let k = 0; k < from.length; k++) {
    if (open[k] === 0) continue;
    const a = k < pumpStart ? from[k]! : pumpFrom[k - pumpStart]!;
    const b = to[k]!;
    const conductance = 1 / slope[k]!;
    const q = flow[k]! + conductance * (head[a]! - head[b]! - loss[k]!);
    if (a < nodeCount) {
      values[diagonal[a]!]! += conductance;
      rightSide[a]! -= q;
      if (b < nodeCount) values[couplingIndex[k]!]! -= conductance;
    }
    if (b < nodeCount) {
      values[diagonal[b]!]! += conductance;
      rightSide[b]! += q;
    }
  }
  for (let i = 0, k = from.length; i < outletNode.length; i++, k++) {
    if (open[k] === 0) continue;
    const node = outletNode[i]!;
    const conductance = 1 / slope[k]!;
    const pressurePa = head[node]! - PA_PER_M * nodeElevationM[node]!;
    values[diagonal[node]!]! += conductance;
    rightSide[node]! -= flow[k]! + conductance * (pressurePa - loss[k]!);
  }
}

/** Adds the solved change of heads; the change of each flow follows. Returns the slope of the content along it. */
function stepFromHeads(net: Assembly): number {
  const { nodeCount, from, to, outletNode, nodeElevationM } = net;
  const { open, loss, slope, head, rightSide, pumpFrom, drop, change } = net.scratch;
  const pumpStart = net.pipeCount + net.gateCount;
  for (let i = 0; i < nodeCount; i++) head[i]! += rightSide[i]!;
  let fall = 0;
  for (let k = 0; k < open.length; k++) {
    if (open[k] === 0) {
      change[k] = 0;
      continue;
    }
    if (k < from.length) {
      const a = k < pumpStart ? from[k]! : pumpFrom[k - pumpStart]!;
      drop[k] = head[a]! - head[to[k]!]!;
    } else {
      const node = outletNode[k - from.length]!;
      drop[k] = head[node]! - PA_PER_M * nodeElevationM[node]!;
    }
    change[k] = (drop[k]! - loss[k]!) / slope[k]!;
    fall -= slope[k]! * change[k]! * change[k]!;
  }
  return fall;
}

function move(net: Assembly, flow: Float64Array, share: number): void {
  const { open, change } = net.scratch;
  for (let k = 0; k < flow.length; k++) if (open[k] === 1) flow[k]! += share * change[k]!;
}

function isClosed(net: Assembly, flow: Float64Array): boolean {
  const { open, loss, drop, change } = net.scratch;
  let largestFlow = 0;
  let largestChange = 0;
  for (let k = 0; k < flow.length; k++) {
    if (open[k] === 0) continue;
    if (!(Math.abs(drop[k]! - loss[k]!) <= PRESSURE_CLOSURE_PA)) return false;
    largestFlow = Math.max(largestFlow, Math.abs(flow[k]!));
    largestChange = Math.max(largestChange, Math.abs(change[k]!));
  }
  return largestChange <= FLOW_CLOSURE * largestFlow + FLOW_FLOOR_M3S;
}

/** Goes back along the step until the content no longer rises steeply there. */
function shorten(net: Assembly, settings: Settings, flow: Float64Array, fall: number, free: boolean): void {
  let low = 0;
  let lowSlope = fall;
  let high = 1;
  let highSlope = slopeAlongStep(net, flow, free);
  let share = 1;
  for (let i = 0; i < MOST_SHORTENINGS && highSlope > -0.5 * fall; i++) {
    const guess = lowSlope / (lowSlope - highSlope);
    const next = low + (high - low) * Math.min(Math.max(guess, 0.1), 0.9);
    move(net, flow, next - share);
    share = next;
    evaluateLosses(net, settings, flow);
    const slope = slopeAlongStep(net, flow, free);
    if (Math.abs(slope) <= -0.5 * fall) return;
    if (slope < 0) {
      low = next;
      lowSlope = slope;
    } else {
      high = next;
      highSlope = slope;
    }
  }
}

function slopeAlongStep(net: Assembly, flow: Float64Array, free: boolean): number {
  const { open, loss, drop, change } = net.scratch;
  const { oneWay } = net;
  let sum = 0;
  for (let k = 0; k < flow.length; k++) {
    if (open[k] === 0) continue;
    const shut = flow[k]! < 0 && (k >= oneWay.length || oneWay[k] === 1);
    if (shut && free) continue;
    sum += (loss[k]! - drop[k]!) * change[k]!;
  }
  return sum;
}

function linkWithoutSlope(net: Assembly): number {
  const { open, loss, slope } = net.scratch;
  return open.findIndex((isOpen, k) => isOpen === 1 && !(Number.isFinite(loss[k]!) && slope[k]! > 0));
}

function worstLink(net: Assembly): string {
  const { open, loss, drop } = net.scratch;
  let worst = 0;
  let most = -1;
  for (let k = 0; k < open.length; k++) {
    const closure = open[k] === 1 ? Math.abs(drop[k]! - loss[k]!) : 0;
    if (closure <= most) continue;
    most = Number.isNaN(closure) ? Infinity : closure;
    worst = k;
  }
  return net.linkName[worst]!;
}
