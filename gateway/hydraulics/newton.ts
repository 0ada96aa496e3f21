/**
 * Newton's method for a network at rest: flows and heads together, one sparse symmetric solve a step.
 *
 * In: an assembly with its settings in force, flows m3/s and node pressures Pa to begin with. Out: both, converged,
 * or the name of the element with the worst closure.
 * Method: global gradient algorithm (Todini & Pilati 1987). After the first full step flows balance at every node
 * exactly. Each loss grows with flow, so the true state is the minimum of a convex function (the 'content' of the
 * network) and the Newton step leads downhill; where it would overshoot, it is shortened until the slope along it has
 * fallen by half.
 */
import type { Assembly } from './assembly.ts';
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
/** Largest change of any flow in the last step, relative to itself; the error left is about its square. */
const FLOW_CLOSURE = 5e-3;
/** m3/s, 0.06 millilitres a minute: the same for what hardly flows. */
const FLOW_FLOOR_M3S = 1e-9;
/** Pa, along any link: a tenth of a millimetre of water. */
const PRESSURE_CLOSURE_PA = 1;
const MOST_SHORTENINGS = 30;

export function iterate(net: Assembly, settings: Settings, wet: Uint8Array, flow: Float64Array): End {
  const { system, scratch } = net;
  evaluateLosses(net, settings, flow);
  const senseless = senselessLink(net);
  if (senseless >= 0) return { iterations: 0, fault: notANumber(net.linkName[senseless]!) };
  for (let iterations = 1; iterations <= MOST_ITERATIONS; iterations++) {
    assembleMatrix(net, wet, flow);
    const singular = factorise(system);
    if (singular >= 0) return { iterations, fault: notANumber(net.nodeName[singular]!) };
    substitute(system, scratch.rightSide);
    const { fall, small } = takeStep(net, flow);
    evaluateLosses(net, settings, flow);
    if (small && isClosed(net)) return { iterations, fault: null };
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
  const { nodeCount, from, to, liftPa, rowFrom, rowTo, nodeDemandM3s, system } = net;
  const { active, activeCount, loss, slope, conductance, pressure, rightSide } = net.scratch;
  const { values, step, couplingIndex } = system;
  values.fill(0);
  for (let i = 0; i < nodeCount; i++) {
    rightSide[step[i]!] = wet[i] === 1 ? -nodeDemandM3s[i]! : 0;
    if (wet[i] === 0) values[step[i]!] = 1;
  }
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    const a = rowFrom[k]!;
    const b = rowTo[k]!;
    const g = 1 / slope[k]!;
    const q = flow[k]! + g * (pressure[from[k]!]! - pressure[to[k]!]! + liftPa[k]! - loss[k]!);
    conductance[k] = g;
    if (a >= 0) {
      values[a]! += g;
      rightSide[a]! -= q;
      if (b >= 0) values[couplingIndex[k]!]! -= g;
    }
    if (b >= 0) {
      values[b]! += g;
      rightSide[b]! += q;
    }
  }
}

/** Takes the solved change of pressures; flows follow. Returns the slope of the content along the step. */
function takeStep(net: Assembly, flow: Float64Array): { fall: number; small: boolean } {
  const { nodeCount, from, to, liftPa, system } = net;
  const { active, activeCount, loss, conductance, pressure, rightSide, drop, change } = net.scratch;
  for (let i = 0; i < nodeCount; i++) pressure[i]! += rightSide[system.step[i]!]!;
  let fall = 0;
  let small = true;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    const along = pressure[from[k]!]! - pressure[to[k]!]! + liftPa[k]!;
    const miss = along - loss[k]!;
    const dq = conductance[k]! * miss;
    const q = flow[k]! + dq;
    drop[k] = along;
    change[k] = dq;
    flow[k] = q;
    fall -= miss * dq;
    small &&= Math.abs(dq) <= FLOW_CLOSURE * Math.abs(q) + FLOW_FLOOR_M3S;
  }
  return { fall, small };
}

function move(net: Assembly, flow: Float64Array, share: number): void {
  const { active, activeCount, change } = net.scratch;
  for (let n = 0; n < activeCount; n++) flow[active[n]!]! += share * change[active[n]!]!;
}

function isClosed(net: Assembly): boolean {
  const { active, activeCount, loss, drop } = net.scratch;
  for (let n = 0; n < activeCount; n++) {
    if (!(Math.abs(drop[active[n]!]! - loss[active[n]!]!) <= PRESSURE_CLOSURE_PA)) return false;
  }
  return true;
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
  const { active, activeCount, loss, drop, change } = net.scratch;
  let sum = 0;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    if (free && flow[k]! < 0 && net.oneWay[k] === 1) continue;
    sum += (loss[k]! - drop[k]!) * change[k]!;
  }
  return sum;
}

/** Before the first step: a link whose law, strength or known end gives no finite number; -1 if all do. */
function senselessLink(net: Assembly): number {
  const { active, activeCount, loss, slope, pressure } = net.scratch;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    const miss = pressure[net.from[k]!]! - pressure[net.to[k]!]! - loss[k]!;
    if (!(Number.isFinite(miss) && slope[k]! > 0)) return k;
  }
  return -1;
}

function worstLink(net: Assembly): string {
  const { active, activeCount, loss, drop } = net.scratch;
  let worst = 0;
  let most = -1;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    const closure = Math.abs(drop[k]! - loss[k]!);
    if (closure <= most) continue;
    most = Number.isNaN(closure) ? Infinity : closure;
    worst = k;
  }
  return net.linkName[worst]!;
}
