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
import { applySettings, evaluateLosses, frictionLoss, isImposed, riseBySpeed, suctionLoss } from './link-loss.ts';
import { assembleMatrix } from './newton.ts';
import { discharge } from './nozzle.ts';
import { findWetNodes } from './reach.ts';
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

/** What an observable is made of: weights on heads of nodes, a share of one link's push, one source's head. */
interface View {
  readonly nodes: readonly number[];
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
      view.nodes.forEach((node, n) => (response[node]! += view.weights[n]!));
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

function seen(view: View, head: Float64Array): number {
  return view.nodes.reduce((sum, node, n) => sum + view.weights[n]! * head[node]!, 0);
}

function direct(view: View, push: Push): number {
  const at = view.link < 0 ? -1 : push.links.indexOf(view.link);
  const throughLink = at < 0 ? 0 : view.linkWeight * push.flows[at]!;
  return throughLink + (view.source >= 0 && view.source === push.source ? PA_PER_M : 0);
}

/** A push takes flow from the node where its link begins and brings it to where the link ends. */
function inject(net: Assembly, push: Push, at: Float64Array): void {
  push.links.forEach((link, n) => {
    const [a, b] = endsOf(net, link);
    if (a < net.nodeCount) at[a]! -= push.flows[n]!;
    if (b < net.nodeCount) at[b]! += push.flows[n]!;
  });
}

function injected(net: Assembly, push: Push, weight: Float64Array): number {
  let sum = 0;
  for (let n = 0; n < push.links.length; n++) {
    const [a, b] = endsOf(net, push.links[n]!);
    if (a < net.nodeCount) sum -= push.flows[n]! * weight[a]!;
    if (b < net.nodeCount) sum += push.flows[n]! * weight[b]!;
  }
  return sum;
}

/** Ends as in the matrix; `nodeCount` and up are known heads, and so is the air behind an outlet. */
function endsOf(net: Assembly, link: number): [number, number] {
  const pump = link - net.pipeCount - net.gateCount;
  if (link >= net.from.length) return [net.outletNode[link - net.from.length]!, Infinity];
  return [pump >= 0 ? net.scratch.pumpFrom[pump]! : net.from[link]!, net.to[link]!];
}

/** Puts the factor of the node matrix at the solution into the network's system. */
function prepare(net: Assembly, settings: Settings, solution: Solution): void {
  if (!solution.converged) throw new RangeError('derivatives are only defined at a converged solution');
  applySettings(net, settings);
  const wet = findWetNodes(net);
  net.scratch.head.set(solution.head);
  evaluateLosses(net, settings, solution.flow);
  assembleMatrix(net, wet, solution.flow);
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
      return open[k] === 1 ? one(k, -frictionLoss(net, k, solution.flow[k]!) / slope[k]!) : NO_PUSH;
    }
    case 'gate-loss': {
      const k = net.pipeCount + parameter.gate;
      return open[k] === 1 ? one(k, -loss[k]! / slope[k]!) : NO_PUSH;
    }
    case 'pump-speed': {
      const k = pumpStart + parameter.pump;
      if (open[k] === 0 || isImposed(settings, parameter.pump)) return NO_PUSH;
      return one(k, riseBySpeed(net, parameter.pump, solution.flow[k]!) / slope[k]!);
    }
    case 'discharge': {
      const k = pumpStart + parameter.pump;
      return open[k] === 1 && isImposed(settings, parameter.pump) ? one(k, 1 / slope[k]!) : NO_PUSH;
    }
    case 'source-level':
      return levelPush(net, parameter.source);
  }
}

function levelPush(net: Assembly, source: number): Push {
  const { open, slope } = net.scratch;
  const slot = net.nodeCount + source;
  const links: number[] = [];
  const flows: number[] = [];
  for (let k = 0; k < net.from.length; k++) {
    if (open[k] === 0) continue;
    const [a, b] = endsOf(net, k);
    if (a !== slot && b !== slot) continue;
    links.push(k);
    flows.push(((a === slot ? 1 : -1) * PA_PER_M) / slope[k]!);
  }
  return { links, flows, source };
}

function viewOf(net: Assembly, solution: Solution, observable: Observable): View {
  const { open, slope } = net.scratch;
  if (observable.kind === 'pressure') {
    const wet = solution.wet[observable.node] === 1;
    return { nodes: wet ? [observable.node] : [], weights: [1], link: -1, linkWeight: 0, source: -1 };
  }
  const pumpStart = net.pipeCount + net.gateCount;
  const link = observable.kind === 'head-flow' ? pumpStart + net.pumpCount + observable.head : pumpStart + observable.pump;
  // d suction = d supply head - loss slope of the suction hose x d flow
  const scale = observable.kind === 'suction' ? -suctionLoss(net, observable.pump, solution.flow[link]!)[1]! : 1;
  const conductance = open[link] === 1 ? 1 / slope[link]! : 0;
  const [a, b] = endsOf(net, link);
  const nodes: number[] = [];
  const weights: number[] = [];
  const see = (node: number, weight: number) => {
    if (node >= net.nodeCount) return;
    nodes.push(node);
    weights.push(weight);
  };
  see(a, scale * conductance);
  see(b, -scale * conductance);
  const supply = observable.kind === 'suction' ? net.from[link]! : -1;
  if (supply >= 0) see(supply, 1);
  return { nodes, weights, link, linkWeight: scale, source: supply - net.nodeCount };
}
