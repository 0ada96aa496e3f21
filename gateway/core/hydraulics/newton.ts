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
import { addAll } from './linearise.ts';
import { shorten } from './shorten.ts';
import type { Fault } from './solution.ts';
import { sweep } from './sweep.ts';

export interface End {
  readonly iterations: number;
  readonly fault: Fault | null;
}

const MOST_ITERATIONS = 200;
/** Steps in which links pushed shut are left out of the test for overshoot, so that many can shut at once. */
const FREE_STEPS = 15;

/** `flow` and `scratch.pressure` hold where to begin; the linear system is that of linearise.ts or warm-start.ts. */
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
    else if (torn) addAll(net, wet, flow);
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
