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
import { flowPower } from './flow-power.ts';
import { HAZEN_WILLIAMS_EXPONENT } from './friction.ts';
import { factorise, substitute } from './linear-system.ts';
import { LEAST_SLOPE, linkLoss } from './link-loss.ts';

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
/**
 * The change of flow that would close a link by itself, relative to its flow; and m3/s, 0.06 ml a minute, next to none.
 */
const FLOW_CLOSURE = 3e-4;
const FLOW_FLOOR_M3S = 1e-9;
const MOST_SHORTENINGS = 30;
/**
 * Relative change of a flow below which its link is straight: the loss then errs by less than a ten-millionth. Not
 * more: several steps add up.
 */
const LINEAR = 3e-4;
const TORN = 1e-5;

/** `flow` and `scratch.pressure` hold where to begin; the linear system is that of `linearise` or of neighbour.ts. */
export function iterate(net: Assembly, wet: Uint8Array, flow: Float64Array): End {
  const { system, scratch, nodeOfRow } = net;
  const { rightSide, matrix, pressure, shift } = scratch;
  for (let iterations = 1; iterations <= MOST_ITERATIONS; iterations++) {
    system.values.set(matrix);
    if (factorise(system) >= 0) return { iterations, fault: notANumber(senselessLink(net)) };
    substitute(system, rightSide);
    for (let row = 0; row < system.size; row++) {
      shift[row] = rightSide[row]!;
      pressure[nodeOfRow[row]!]! += rightSide[row]!;
    }
    const free = iterations <= FREE_STEPS;
    const { closed, fall, rise, torn } = sweep(net, flow, free);
    if (closed) return { iterations, fault: null };
    if (!Number.isFinite(fall)) return { iterations, fault: notANumber(senselessLink(net)) };
    // The first step makes flows balance, wherever it started from: it is not shortened.
    if (iterations > 1 && rise > -0.5 * fall) shorten(net, wet, flow, fall, rise, free);
    else if (torn) assembleAll(net, wet, flow);
  }
  const element = worstLink(net);
  const words = `no steady state found in ${MOST_ITERATIONS} steps; flow and pressure disagree most at ${element}`;
  return { iterations: MOST_ITERATIONS, fault: { code: 'hydraulics/not-converged', element, words } };
}

function notANumber(element: string): Fault {
  return {
    code: 'hydraulics/not-a-number',
    element,
    words: `the numbers of ${element} give no finite pressure or flow`,
  };
}

/** Losses, and from them the linear system, at flows and pressures as they are. */
export function linearise(net: Assembly, wet: Uint8Array, flow: Float64Array): void {
  const { active, activeCount, pressure, drop } = net.scratch;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    drop[k] = pressure[net.from[k]!]! - pressure[net.to[k]!]! + net.liftPa[k]!;
    evaluate(net, k, flow);
  }
  assembleAll(net, wet, flow);
}

function assembleAll(net: Assembly, wet: Uint8Array, flow: Float64Array): void {
  const { active, activeCount, matrix, rightSide } = net.scratch;
  matrix.fill(0);
  for (let row = 0; row < net.system.size; row++) {
    const node = net.nodeOfRow[row]!;
    rightSide[row] = wet[node] === 1 ? -net.nodeDemandM3s[node]! : 0;
    if (wet[node] === 0) matrix[row] = 1;
  }
  for (let n = 0; n < activeCount; n++) addShare(net, active[n]!, flow, 1);
}

interface Sweep {
  readonly closed: boolean;
  /** Slope of the content along the step, at its beginning and at its end. */
  readonly fall: number;
  readonly rise: number;
  /** A conductance changed so much that what is left of the matrix may be rounding: it must be added up anew. */
  readonly torn: boolean;
}

/**
 * Once over all links, since every pass costs as much as a pass: the step of flow that follows from the `shift` of
 * pressures, the loss at the new flow, and what that changes in the linear system. A link whose flow hardly changed
 * keeps its conductance and is taken as straight, which errs by less than LINEAR squared of its loss; since flows
 * balance after a full step, only what is not straight is left on the right. The usual hose, and the usual head behind
 * a usual spur, are written out; the rest goes by the book afterwards, since a call in the first loop would make it
 * slow.
 */
function sweep(net: Assembly, flow: Float64Array, free: boolean): Sweep {
  const { rowFrom, rowTo, oneWay, system, usualHose, pipeCount } = net;
  const { active, activeCount, rest, strength, exponent, loss, conductance, drop, change, shift, rightSide, matrix } =
    net.scratch;
  const { minor, trickleM3s } = net.pipes;
  const { couplingIndex } = system;
  rightSide.fill(0);
  let closed = true;
  let torn = false;
  let fall = 0;
  let rise = 0;
  let restCount = 0;
  for (let n = 0; n < activeCount; n++) {
    const k = active[n]!;
    const a = rowFrom[k]!;
    const b = rowTo[k]!;
    let along = drop[k]!;
    if (a >= 0) along += shift[a]!;
    if (b >= 0) along -= shift[b]!;
    drop[k] = along;
    const miss = along - loss[k]!;
    const old = conductance[k]!;
    const dq = old * miss;
    fall -= miss * dq;
    change[k] = dq;
    const q = flow[k]! + dq;
    flow[k] = q;
    const size = Math.abs(q);
    if (Math.abs(dq) <= LINEAR * size) {
      loss[k] = along;
      continue;
    }
    const hose = usualHose[k]!;
    const isHead = k >= pipeCount;
    if (hose < 0 || size < trickleM3s[hose]! || (isHead && !(exponent[k] === 0.5 && q > strength[k]!))) {
      rest[restCount++] = k;
      continue;
    }
    const rub = strength[hose]! * flowPower(size);
    const eddy = minor[hose]! * size;
    let lossPa = q * (rub + eddy + LEAST_SLOPE);
    let steepness = HAZEN_WILLIAMS_EXPONENT * rub + 2 * eddy + LEAST_SLOPE;
    if (isHead) {
      const perK = 1 / strength[k]!;
      lossPa += q * perK * (q * perK);
      steepness += 2 * q * perK * perK;
    }
    const g = 1 / steepness;
    const open = along - lossPa;
    const off = Math.abs(open);
    loss[k] = lossPa;
    conductance[k] = g;
    closed &&= off <= PRESSURE_CLOSURE_PA && off * g <= FLOW_CLOSURE * size + FLOW_FLOOR_M3S;
    torn ||= g < TORN * old;
    rise -= open * dq;
    const through = g * open;
    if (a >= 0) {
      matrix[a]! += g - old;
      rightSide[a]! -= through;
      if (b >= 0) matrix[couplingIndex[k]!]! -= g - old;
    }
    if (b >= 0) {
      matrix[b]! += g - old;
      rightSide[b]! += through;
    }
  }
  for (let n = 0; n < restCount; n++) {
    const k = rest[n]!;
    const old = conductance[k]!;
    evaluate(net, k, flow);
    const g = conductance[k]!;
    const open = drop[k]! - loss[k]!;
    addParts(net, k, g - old, g * open);
    const off = Math.abs(open);
    closed &&= off <= PRESSURE_CLOSURE_PA && off * g <= FLOW_CLOSURE * Math.abs(flow[k]!) + FLOW_FLOOR_M3S;
    torn ||= g < TORN * old;
    if (!(free && flow[k]! < 0 && oneWay[k] === 1)) rise -= open * change[k]!;
  }
  return { closed, fall, rise, torn };
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

function addParts({ rowFrom, rowTo, system, scratch }: Assembly, k: number, g: number, through: number): void {
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

/**
 * Goes back along the step until the content no longer rises steeply there; the linear system is then that of where it
 * ends.
 */
function shorten(net: Assembly, wet: Uint8Array, flow: Float64Array, fall: number, rise: number, free: boolean): void {
  const { active, activeCount, change, drop, loss } = net.scratch;
  let low = 0;
  let lowSlope = fall;
  let high = 1;
  let highSlope = rise;
  let share = 1;
  for (let i = 0; i < MOST_SHORTENINGS && highSlope > -0.5 * fall; i++) {
    const guess = lowSlope / (lowSlope - highSlope);
    const next = low + (high - low) * Math.min(Math.max(guess, 0.1), 0.9);
    let slope = 0;
    for (let n = 0; n < activeCount; n++) {
      const k = active[n]!;
      flow[k]! += (next - share) * change[k]!;
      evaluate(net, k, flow);
      if (!(free && flow[k]! < 0 && net.oneWay[k] === 1)) slope += (loss[k]! - drop[k]!) * change[k]!;
    }
    share = next;
    if (Math.abs(slope) <= -0.5 * fall) break;
    if (slope < 0) {
      low = next;
      lowSlope = slope;
    } else {
      high = next;
      highSlope = slope;
    }
  }
  assembleAll(net, wet, flow);
}

/** The first link whose strength or known end is not a number, or where flow and pressure disagree most. */
function senselessLink(net: Assembly): string {
  const { asked, strength, pressure } = net.scratch;
  for (let k = 0; k < net.linkCount; k++) {
    const known = (end: number) => end < net.nodeCount || Number.isFinite(pressure[end]!);
    if (asked[k] === 1 && !(Number.isFinite(strength[k]!) && known(net.from[k]!) && known(net.to[k]!)))
      return net.linkName[k]!;
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
