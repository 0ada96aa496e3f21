/**
 * One full Newton step along all links: new flows, new losses, and what they change in the linear system.
 *
 * In: an assembly with the `shift` of pressures just solved for, flows m3/s. Out: flows, losses Pa and conductances
 * m3/s per Pa moved on, matrix and right side renewed, and a tally of the step.
 * A link whose flow hardly changed keeps its conductance and is taken as straight, which errs by less than LINEAR
 * squared of its loss; since flows balance after a full step, only what is bent is left on the right. The usual hose,
 * and the usual head behind a usual lateral, are written out in the first loop: calls that the compiler does not take
 * in would make it slow. The rest goes through link-loss.ts.
 */
import type { Assembly } from './assembly.ts';
import { flowPower } from './flow-power.ts';
import { HAZEN_WILLIAMS_EXPONENT } from './friction.ts';
import { addParts, evaluate } from './linearise.ts';
import { LEAST_SLOPE } from './link-loss.ts';

/** Pa, along any link: a tenth of a millimetre of water. */
const PRESSURE_CLOSURE_PA = 1;
/**
 * The change of flow that would close a link by itself, relative to its flow; and m3/s, 0.06 ml a minute, next to none.
 */
const FLOW_CLOSURE = 3e-4;
const FLOW_FLOOR_M3S = 1e-9;
/**
 * Relative change of a flow below which its link is straight: the loss then errs by less than a ten-millionth. Not
 * more: several steps add up.
 */
const LINEAR = 3e-4;
const TORN = 1e-5;

export interface Tally {
  closed: boolean;
  /** Slope of the content along the step, at its beginning and at its end, W. */
  fall: number;
  rise: number;
  /** A conductance changed so much that what is left of the matrix may be rounding: it must be added up anew. */
  torn: boolean;
}

const BEFORE: Readonly<Tally> = { closed: true, fall: 0, rise: 0, torn: false };

/** `free`: links pushed shut are left out of the test for overshoot. */
export function sweep(net: Assembly, flow: Float64Array, free: boolean): Tally {
  net.scratch.rightSide.fill(0);
  const tally = moveUsual(net, flow);
  bendRest(net, flow, free, tally);
  return tally;
}

/**
 * Every link moved on; those that the step bends are worked out anew where they are usual, and listed where not.
 * Usual: a Hazen-Williams hose (friction r q^1.852, minor losses m q^2), and a head of q = K sqrt(p) behind one. Here q
 * is the flow, g the conductance, a and b the rows of the ends.
 */
function moveUsual(net: Assembly, flow: Float64Array): Tally {
  const { rowFrom, rowTo, usualHose, pipeCount, pipes, system, scratch } = net;
  const { active, activeCount, bent, strength, exponent, loss, conductance, drop, change, shift } = scratch;
  const { matrix, rightSide } = scratch;
  let { closed, fall, rise, torn } = BEFORE;
  let bentCount = 0;
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
    const hose = usualHose[k]!;
    const isHead = k >= pipeCount;
    if (Math.abs(dq) <= LINEAR * size) loss[k] = along;
    else if (hose < 0 || size < pipes.trickleM3s[hose]! || (isHead && !(exponent[k] === 0.5 && q > strength[k]!)))
      bent[bentCount++] = k;
    else {
      const friction = strength[hose]! * flowPower(size);
      const eddies = pipes.minor[hose]! * size;
      let lossPa = q * (friction + eddies + LEAST_SLOPE);
      let steepness = HAZEN_WILLIAMS_EXPONENT * friction + 2 * eddies + LEAST_SLOPE;
      if (isHead) {
        const perK = 1 / strength[k]!;
        lossPa += q * perK * (q * perK);
        steepness += 2 * q * perK * perK;
      }
      const g = 1 / steepness;
      const openPa = along - lossPa;
      loss[k] = lossPa;
      conductance[k] = g;
      closed &&= isClosed(openPa, g, size);
      torn ||= g < TORN * old;
      rise -= openPa * dq;
      const through = g * openPa;
      if (a >= 0) {
        matrix[a]! += g - old;
        rightSide[a]! -= through;
        if (b >= 0) matrix[system.couplingIndex[k]!]! -= g - old;
      }
      if (b < 0) continue;
      matrix[b]! += g - old;
      rightSide[b]! += through;
    }
  }
  scratch.bentCount = bentCount;
  return { closed, fall, rise, torn };
}

const isClosed = (openPa: number, conductance: number, size: number): boolean =>
  Math.abs(openPa) <= PRESSURE_CLOSURE_PA && Math.abs(openPa) * conductance <= FLOW_CLOSURE * size + FLOW_FLOOR_M3S;

function bendRest(net: Assembly, flow: Float64Array, free: boolean, tally: Tally): void {
  const { bent, bentCount, loss, conductance, drop, change } = net.scratch;
  for (let n = 0; n < bentCount; n++) {
    const k = bent[n]!;
    const old = conductance[k]!;
    evaluate(net, k, flow);
    const g = conductance[k]!;
    const openPa = drop[k]! - loss[k]!;
    addParts(net, k, g - old, g * openPa);
    tally.closed &&= isClosed(openPa, g, Math.abs(flow[k]!));
    tally.torn ||= g < TORN * old;
    if (!(free && flow[k]! < 0 && net.oneWay[k] === 1)) tally.rise -= openPa * change[k]!;
  }
}
