/**
 * How much each measured quantity moves with each unknown of the network: exact derivatives at a solution.
 *
 * In: a converged solution and its settings. Out: row-major [observable][parameter], SI (Pa or m3/s per unit of the
 * parameter). Method: the implicit-function theorem on the node balances. A parameter acts as an injection of flow at
 * one or two nodes, an observable is a sum over one or two heads; the matrix between them is symmetric, so one
 * factorisation and one back-substitution for each of whichever are fewer gives the whole table.
 * Limit: a derivative is one-sided at a nozzle or non-return that is just about to open.
 */
import type { Assembly } from './assembly.ts';
import { PA_PER_M } from './constants.ts';
import { factorise, substitute } from './linear-system.ts';
import { isImposed, putInForce } from './in-force.ts';
import { CLOSED_M3S, evaluateLosses, frictionLoss, riseBySpeed, suctionLoss } from './link-loss.ts';
import { assembleMatrix } from './newton.ts';
import { discharge } from './nozzle.ts';
import type { Settings } from './settings.ts';
import type { Solution } from './solve.ts';

export type Observable =
  | { readonly kind: 'pressure'; readonly node: number }
  | { readonly kind: 'pump-flow'; readonly pump: number }
  | { readonly kind: 'suction'; readonly pump: number }
  | { readonly kind: 'head-flow'; readonly head: number };

export type Parameter =
  | { readonly kind: 'head-factor'; readonly head: number }
  | { readonly kind: 'hose-factor'; readonly pipe: number }
  | { readonly kind: 'leak'; readonly node: number }
  /** A multiplier on the gate's loss. */
  | { readonly kind: 'gate-loss'; readonly gate: number }
  | { readonly kind: 'pump-speed'; readonly pump: number }
  | { readonly kind: 'discharge'; readonly pump: number }
  | { readonly kind: 'source-level'; readonly source: number };

/** What a parameter does while all heads are held still: flows of links change by so much per unit. */
interface Push {
  readonly links: readonly number[];
  readonly flows: readonly number[];
  /** The source whose own head it raises, or -1. */
  readonly source: number;
}

/** What an observable is made of: weights on pressures of nodes (as elimination steps), a share of one link's push, one source's level. */
interface View {
  readonly rows: readonly number[];
  readonly weights: readonly number[];
  readonly link: number;
  readonly linkWeight: number;
  readonly source: number;
}

export function sensitivity(
  net: Assembly,
  settings: Settings,
  solution: Solution,
  observables: readonly Observable[],
  parameters: readonly Parameter[],
): Float64Array {
  prepare(net, settings, solution);
  const width = parameters.length;
  const pushes = parameters.map((parameter) => pushOf(net, settings, solution, parameter));
  const views = observables.map((observable) => viewOf(net, solution, observable));
  const table = new Float64Array(observables.length * width);
  const response = net.scratch.rightSide;
  if (views.length <= pushes.length) {
    views.forEach((view, row) => {
      response.fill(0);
      view.rows.forEach((at, n) => (response[at]! += view.weights[n]!));
      substitute(net.system, response);
      pushes.forEach((push, column) => (table[row * width + column] = injected(net, push, response)));
    });
  } else {
    pushes.forEach((push, column) => {
      response.fill(0);
      inject(net, push, response);
      substitute(net.system, response);
      views.forEach((view, row) => (table[row * width + column] = seen(view, response)));
    });
  }
  views.forEach((view, row) => pushes.forEach((push, column) => (table[row * width + column]! += direct(view, push))));
  return table;
}

function seen(view: View, response: Float64Array): number {
  return view.rows.reduce((sum, row, n) => sum + view.weights[n]! * response[row]!, 0);
}

function direct(view: View, push: Push): number {
  const at = view.link < 0 ? -1 : push.links.indexOf(view.link);
  const throughLink = at < 0 ? 0 : view.linkWeight * push.flows[at]!;
  return throughLink + (view.source >= 0 && view.source === push.source ? PA_PER_M : 0);
}

/** A push takes flow from the node where its link begins and brings it to where the link ends. */
function inject(net: Assembly, push: Push, rightSide: Float64Array): void {
  for (let n = 0; n < push.links.length; n++) {
    const a = net.rowFrom[push.links[n]!]!;
    const b = net.rowTo[push.links[n]!]!;
    if (a >= 0) rightSide[a]! -= push.flows[n]!;
    if (b >= 0) rightSide[b]! += push.flows[n]!;
  }
}

function injected(net: Assembly, push: Push, response: Float64Array): number {
  let sum = 0;
  for (let n = 0; n < push.links.length; n++) {
    const a = net.rowFrom[push.links[n]!]!;
    const b = net.rowTo[push.links[n]!]!;
    if (a >= 0) sum -= push.flows[n]! * response[a]!;
    if (b >= 0) sum += push.flows[n]! * response[b]!;
  }
  return sum;
}

/** Puts the factor of the node matrix at the solution into the network's system. */
function prepare(net: Assembly, settings: Settings, solution: Solution): void {
  if (!solution.converged) throw new RangeError('derivatives are only defined at a converged solution');
  const wet = putInForce(net, settings);
  net.scratch.pressure.set(solution.pressurePa);
  // Nozzles and non-returns that are held shut give nothing to a small change either.
  const flow = solution.flowM3s.map((q, k) => (q === 0 && net.oneWay[k] === 1 ? CLOSED_M3S : q));
  evaluateLosses(net, settings, flow);
  assembleMatrix(net, wet, flow);
  factorise(net.system);
}

const NO_PUSH: Push = { links: [], flows: [], source: -1 };

function pushOf(net: Assembly, settings: Settings, solution: Solution, parameter: Parameter): Push {
  const { open, slope, loss } = net.scratch;
  const pumpStart = net.pipeCount + net.gateCount;
  const headStart = pumpStart + net.pumpCount;
  const one = (link: number, flow: number): Push => ({ links: [link], flows: [flow], source: -1 });
  switch (parameter.kind) {
    case 'head-factor': {
      const node = net.outletNode[parameter.head]!;
      if (settings.headOff[parameter.head] === 1 || solution.wet[node] === 0) return NO_PUSH;
      const k = net.headK[parameter.head]!;
      return one(headStart + parameter.head, discharge(k, net.headExponent[parameter.head]!, solution.pressurePa[node]!));
    }
    case 'leak': {
      if (solution.wet[parameter.node] === 0) return NO_PUSH;
      const link = headStart + net.headCount + parameter.node;
      return one(link, discharge(1, 0.5, solution.pressurePa[parameter.node]!));
    }
    case 'hose-factor': {
      const k = parameter.pipe;
      return open[k] === 1 ? one(k, -frictionLoss(net, k, solution.flowM3s[k]!) / slope[k]!) : NO_PUSH;
    }
    case 'gate-loss': {
      const k = net.pipeCount + parameter.gate;
      return open[k] === 1 ? one(k, -loss[k]! / slope[k]!) : NO_PUSH;
    }
    case 'pump-speed': {
      const k = pumpStart + parameter.pump;
      if (open[k] === 0 || isImposed(settings, parameter.pump)) return NO_PUSH;
      return one(k, riseBySpeed(net, parameter.pump, solution.flowM3s[k]!) / slope[k]!);
    }
    case 'discharge': {
      const k = pumpStart + parameter.pump;
      return open[k] === 1 && isImposed(settings, parameter.pump) ? one(k, 1 / slope[k]!) : NO_PUSH;
    }
    case 'source-level':
      return levelPush(net, settings, parameter.source);
  }
}

function levelPush(net: Assembly, settings: Settings, source: number): Push {
  const { open, slope } = net.scratch;
  const pumpStart = net.pipeCount + net.gateCount;
  const links: number[] = [];
  const flows: number[] = [];
  const push = (k: number, sign: number) => {
    if (open[k] === 0) return;
    links.push(k);
    flows.push((sign * PA_PER_M) / slope[k]!);
  };
  const slot = net.nodeCount + source;
  for (let k = 0; k < pumpStart; k++) {
    if (net.from[k] === slot) push(k, 1);
    if (net.to[k] === slot) push(k, -1);
  }
  net.pumpSupply.forEach((supply, pump) => {
    if (supply === slot && !isImposed(settings, pump)) push(pumpStart + pump, 1);
  });
  return { links, flows, source };
}

function viewOf(net: Assembly, solution: Solution, observable: Observable): View {
  const { open, slope } = net.scratch;
  const rows: number[] = [];
  const weights: number[] = [];
  const see = (row: number, weight: number) => {
    if (row < 0) return;
    rows.push(row);
    weights.push(weight);
  };
  if (observable.kind === 'pressure') {
    if (solution.wet[observable.node] === 1) see(net.system.step[observable.node]!, 1);
    return { rows, weights, link: -1, linkWeight: 0, source: -1 };
  }
  const pumpStart = net.pipeCount + net.gateCount;
  const link = observable.kind === 'head-flow' ? pumpStart + net.pumpCount + observable.head : pumpStart + observable.pump;
  // d suction = d supply - slope of the suction hose's loss x d flow
  const scale = observable.kind === 'suction' ? -suctionLoss(net, observable.pump, solution.flowM3s[link]!)[1]! : 1;
  const conductance = open[link] === 1 ? 1 / slope[link]! : 0;
  see(net.rowFrom[link]!, scale * conductance);
  see(net.rowTo[link]!, -scale * conductance);
  if (observable.kind !== 'suction') return { rows, weights, link, linkWeight: scale, source: -1 };
  const supply = net.pumpSupply[observable.pump]!;
  if (supply < net.nodeCount) see(net.system.step[supply]!, 1);
  return { rows, weights, link, linkWeight: scale, source: supply - net.nodeCount };
}
