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
import { HAZEN_WILLIAMS } from './assembly.ts';
import { flowPower } from './flow-power.ts';
import { HAZEN_WILLIAMS_EXPONENT } from './friction.ts';
import { factorise, substitute } from './linear-system.ts';
import { LEAST_SLOPE, linkLoss } from './link-loss.ts';
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
/** Pa, along any link: a tenth of a millimetre of water. */
const PRESSURE_CLOSURE_PA = 1;
/** The change of flow that would close a link by itself, relative to its flow; and m3/s, 0.06 ml a minute, next to none. */
const FLOW_CLOSURE = 1e-4;
const FLOW_FLOOR_M3S = 1e-9;
const MOST_SHORTENINGS = 30;
/** Judgement: an outlet is settled when it takes its pressure to a thousandth. */
const SETTLED = 1e-3;
const MOST_SETTLINGS = 6;

export function iterate(net: Assembly, settings: Settings, wet: Uint8Array, flow: Float64Array, warm: boolean): End {
  const { system, scratch, nodeOfRow } = net;
  const { rightSide, pressure, shift } = scratch;
  linearise(net, settings, wet, flow);
  if (warm) settleOutlets(net, settings, flow);
  for (let iterations = 1; iterations <= MOST_ITERATIONS; iterations++) {
    if (factorise(system) >= 0) return { iterations, fault: notANumber(senselessLink(net)) };
    substitute(system, rightSide);
    for (let row = 0; row < system.size; row++) {
      shift[row] = rightSide[row]!;
      pressure[nodeOfRow[row]!]! += rightSide[row]!;
    }
    const free = iterations <= FREE_STEPS;
    const { closed, fall, rise } = sweep(net, settings, wet, flow, true, free);
    if (closed) return { iterations, fault: null };
    if (!Number.isFinite(fall)) return { iterations, fault: notANumber(senselessLink(net)) };
    // The first step makes flows balance, wherever it started from: it is not shortened.
    if (iterations > 1 && rise > -0.5 * fall) shorten(net, settings, wet, flow, fall, rise, free);
  }
  const element = worstLink(net);
  const words = `no steady state found in ${MOST_ITERATIONS} steps; flow and pressure disagree most at ${element}`;
  return { iterations: MOST_ITERATIONS, fault: { code: 'hydraulics/not-converged', element, words } };
}

function notANumber(element: string): Fault {
  return { code: 'hydraulics/not-a-number', element, words: `the numbers of ${element} give no finite pressure or flow` };
}

/** Losses, and from them the linear system, at flows and pressures as they are. */
export function linearise(net: Assembly, settings: Settings, wet: Uint8Array, flow: Float64Array): void {
  const { active, activeCount, pressure, drop } = net.scratch;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    drop[k] = pressure[net.from[k]!]! - pressure[net.to[k]!]! + net.liftPa[k]!;
  }
  sweep(net, settings, wet, flow, false, false);
}

interface Sweep {
  readonly closed: boolean;
  /** Slope of the content along the step, at its beginning and at its end. */
  readonly fall: number;
  readonly rise: number;
}

/**
 * Once over all links, since every pass costs as much as a pass: the step of flow that follows from the `shift` of
 * pressures (or none, if `stepping` is false), the loss at the new flow, and its share of the next linear system:
 * conductances in the matrix, the imbalance of flows on the right.
 */
function sweep(net: Assembly, settings: Settings, wet: Uint8Array, flow: Float64Array, stepping: boolean, free: boolean): Sweep {
  const { rowFrom, rowTo, oneWay, system, spurs } = net;
  const { active, activeCount, strength, exponent, loss, conductance, drop, change, shift, rightSide } = net.scratch;
  const { law, minor, trickleM3s } = net.pipes;
  const { values, couplingIndex } = system;
  const headStart = net.pipeCount + net.gateCount + net.pumpCount;
  clearSystem(net, wet);
  let closed = true;
  let fall = 0;
  let rise = 0;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    const a = rowFrom[k]!;
    const b = rowTo[k]!;
    let along = drop[k]!;
    let q = flow[k]!;
    if (stepping) {
      if (a >= 0) along += shift[a]!;
      if (b >= 0) along -= shift[b]!;
      drop[k] = along;
      const miss = along - loss[k]!;
      const dq = conductance[k]! * miss;
      fall -= miss * dq;
      change[k] = dq;
      flow[k] = q += dq;
    }
    let lossPa: number;
    let steepness: number;
    // The usual hose, and the usual head behind a usual spur, written out; everything else by the book.
    const hose = k < net.pipeCount ? k : k >= headStart && k < headStart + net.headCount && exponent[k] === 0.5 && q > strength[k]! ? spurs.pipe[k - headStart]! : -1;
    const size = Math.abs(q);
    if (hose >= 0 && law[hose] === HAZEN_WILLIAMS && size >= trickleM3s[hose]! && oneWay[hose] === 0) {
      const rub = strength[hose]! * flowPower(size);
      const eddy = minor[hose]! * size;
      lossPa = q * (rub + eddy + LEAST_SLOPE);
      steepness = HAZEN_WILLIAMS_EXPONENT * rub + 2 * eddy + LEAST_SLOPE;
      if (hose !== k) {
        const perK = 1 / strength[k]!;
        lossPa += q * perK * (q * perK);
        steepness += 2 * q * perK * perK;
      }
    } else {
      const pair = linkLoss(net, settings, k, q);
      lossPa = pair[0]!;
      steepness = pair[1]!;
    }
    const g = 1 / steepness;
    const open = along - lossPa;
    const off = Math.abs(open);
    loss[k] = lossPa;
    conductance[k] = g;
    closed &&= off <= PRESSURE_CLOSURE_PA && off * g <= FLOW_CLOSURE * size + FLOW_FLOOR_M3S;
    if (!(free && q < 0 && oneWay[k] === 1)) rise -= open * change[k]!;
    const through = q + g * open;
    if (a >= 0) {
      values[a]! += g;
      rightSide[a]! -= through;
      if (b >= 0) values[couplingIndex[k]!]! -= g;
    }
    if (b >= 0) {
      values[b]! += g;
      rightSide[b]! += through;
    }
  }
  return { closed, fall, rise };
}

function clearSystem({ system, nodeOfRow, nodeDemandM3s, scratch }: Assembly, wet: Uint8Array): void {
  system.values.fill(0);
  for (let row = 0; row < system.size; row++) {
    const node = nodeOfRow[row]!;
    scratch.rightSide[row] = wet[node] === 1 ? -nodeDemandM3s[node]! : 0;
    if (wet[node] === 0) system.values[row] = 1;
  }
}

/**
 * Brings each outlet that stands out to the flow it has at the pressure there was before: a nozzle that changed is then
 * right at once, and what remains for the network to do is small.
 */
function settleOutlets(net: Assembly, settings: Settings, flow: Float64Array): void {
  const { active, activeCount, drop, loss, conductance, rightSide } = net.scratch;
  const outletStart = net.pipeCount + net.gateCount + net.pumpCount;
  for (let n = activeCount - 1; n >= 0 && active[n]! >= outletStart; n--) {
    const k = active[n]!;
    const along = drop[k]!;
    if (!(along > 0 && Math.abs(along - loss[k]!) > SETTLED * along)) continue;
    const row = net.rowFrom[k]!;
    const through = () => flow[k]! + conductance[k]! * (along - loss[k]!);
    if (row >= 0) {
      net.system.values[row]! -= conductance[k]!;
      rightSide[row]! += through();
    }
    for (let i = 0; i < MOST_SETTLINGS && Math.abs(along - loss[k]!) > SETTLED * along; i++) {
      flow[k] = Math.max(through(), 0);
      const pair = linkLoss(net, settings, k, flow[k]!);
      loss[k] = pair[0]!;
      conductance[k] = 1 / pair[1]!;
    }
    if (row >= 0) {
      net.system.values[row]! += conductance[k]!;
      rightSide[row]! -= through();
    }
  }
}

/** Goes back along the step until the content no longer rises steeply there. */
function shorten(net: Assembly, settings: Settings, wet: Uint8Array, flow: Float64Array, fall: number, rise: number, free: boolean): void {
  const { active, activeCount, change } = net.scratch;
  let low = 0;
  let lowSlope = fall;
  let high = 1;
  let highSlope = rise;
  let share = 1;
  for (let i = 0; i < MOST_SHORTENINGS && highSlope > -0.5 * fall; i++) {
    const guess = lowSlope / (lowSlope - highSlope);
    const next = low + (high - low) * Math.min(Math.max(guess, 0.1), 0.9);
    for (let n = 0; n < activeCount; n++) flow[active[n]!]! += (next - share) * change[active[n]!]!;
    share = next;
    const slope = sweep(net, settings, wet, flow, false, free).rise;
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

/** The first link whose strength or known end is not a number, or where flow and pressure disagree most. */
function senselessLink(net: Assembly): string {
  const { asked, strength, pressure } = net.scratch;
  for (let k = 0; k < net.linkCount; k++) {
    const known = (end: number) => end < net.nodeCount || Number.isFinite(pressure[end]!);
    if (asked[k] === 1 && !(Number.isFinite(strength[k]!) && known(net.from[k]!) && known(net.to[k]!))) return net.linkName[k]!;
  }
  return worstLink(net);
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
