/**
 * How much each measured quantity moves with each unknown of the network: exact derivatives at a solution.
 *
 * In: a converged solution and its settings. Out: row-major [observable][parameter], SI (Pa or m3/s per unit of the
 * parameter). Method: the implicit-function theorem on the node balances, adjoint form. A parameter acts as an
 * injection of flow at the ends of its link, an observable is a sum over one or two node pressures, and the matrix
 * between them is symmetric: one factorisation, and one back-substitution for each observable, give the whole table.
 * Limit: a derivative is one-sided at a nozzle or non-return that is just about to open.
 */
import type { Assembly } from './assembly.ts';
import { PA_PER_M } from './constants.ts';
import { factorise, substitute } from './linear-system.ts';
import { applySettings } from './apply-settings.ts';
import { CLOSED_M3S, frictionLoss, nozzleAt, riseBySpeed, suctionLoss } from './link-loss.ts';
import { linearise } from './linearise.ts';
import { discharge } from './nozzle.ts';
import { isImposed } from './settings.ts';
import type { Settings } from './settings.ts';
import type { Solution } from './solution.ts';
import { isSplit } from './lumped-laterals.ts';

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

/**
 * What parameters do while all pressures are held still: those of parameter p are entries `start[p]` to `start[p + 1]`.
 */
interface Pushes {
  readonly start: number[];
  /** Link, and change of its flow per unit of the parameter. */
  readonly link: number[];
  readonly flow: number[];
  /** What of that flow leaves a lateral before its nozzle. */
  readonly aside: number[];
}

/**
 * What an observable is made of: weights on pressures of nodes (as elimination steps; -1: known), and a share of one
 * link's push.
 */
interface View {
  readonly rows: readonly number[];
  readonly weights: readonly number[];
  readonly link: number;
  readonly linkWeight: number;
}

export function sensitivity(
  network: Assembly,
  settings: Settings,
  solution: Solution,
  observables: readonly Observable[],
  parameters: readonly Parameter[],
): Float64Array {
  const net = needsNozzles(network, settings, observables) ? network.withoutLaterals() : network;
  prepare(net, settings, solution);
  const pushes: Pushes = { start: [0], link: [], flow: [], aside: [] };
  for (const parameter of parameters) {
    addPush(net, settings, solution, parameter, pushes);
    pushes.start.push(pushes.link.length);
  }
  const entries = entriesOf(net, pushes);
  const table = new Float64Array(observables.length * parameters.length);
  const response = new Float64Array(net.system.size + 1);
  observables.forEach((observable, o) => {
    const view = viewOf(net, solution, observable);
    response.fill(0);
    view.rows.forEach((row, n) => {
      if (row >= 0) response[row]! += view.weights[n]!;
    });
    substitute(net.system, response);
    const first = o * parameters.length;
    fillLine(entries, view, response, table, first);
    if (observable.kind !== 'suction') return;
    // A source raises the suction of its own pumps besides what it does to their flow.
    const source = net.pumpSupply[observable.pump]! - net.nodeCount;
    parameters.forEach((parameter, p) => {
      if (parameter.kind === 'source-level' && parameter.source === source) table[first + p]! += PA_PER_M;
    });
  });
  return table;
}

/** Whether the nozzle of a lateral is itself looked at, or leaks: then it must be an equation. */
function needsNozzles({ laterals }: Assembly, settings: Settings, observables: readonly Observable[]): boolean {
  return (
    isSplit(laterals, settings) || observables.some((o) => o.kind === 'pressure' && laterals.headOfNozzle[o.node]! >= 0)
  );
}

/**
 * Pushes as the table needs them: rows of the response that each takes from and brings to, the row after the last one
 * for what is known.
 */
interface Entries {
  readonly parameter: Int32Array;
  readonly link: Int32Array;
  readonly takes: Int32Array;
  readonly brings: Int32Array;
  readonly flow: Float64Array;
  readonly aside: Float64Array;
}

function entriesOf(net: Assembly, pushes: Pushes): Entries {
  const count = pushes.link.length;
  const known = net.system.size;
  const entries: Entries = {
    parameter: new Int32Array(count),
    link: new Int32Array(pushes.link),
    takes: new Int32Array(count),
    brings: new Int32Array(count),
    flow: new Float64Array(pushes.flow),
    aside: new Float64Array(pushes.aside),
  };
  let parameter = 0;
  for (let n = 0; n < count; n++) {
    while (pushes.start[parameter + 1]! <= n) parameter++;
    const k = pushes.link[n]!;
    entries.parameter[n] = parameter;
    entries.takes[n] = net.rowFrom[k]! < 0 ? known : net.rowFrom[k]!;
    entries.brings[n] = net.rowTo[k]! < 0 ? known : net.rowTo[k]!;
  }
  return entries;
}

/** A push takes flow from the node where its link begins and brings it to where the link ends. */
function fillLine(entries: Entries, view: View, response: Float64Array, table: Float64Array, first: number): void {
  const { parameter, link, takes, brings, flow, aside } = entries;
  for (let n = 0; n < flow.length; n++) {
    table[first + parameter[n]!]! += flow[n]! * (response[brings[n]!]! - response[takes[n]!]!);
  }
  for (let n = view.link < 0 ? flow.length : 0; n < flow.length; n++) {
    if (link[n] === view.link) table[first + parameter[n]!]! += view.linkWeight * (flow[n]! - aside[n]!);
  }
}

/** Puts the factor of the node matrix at the solution into the network's system. */
function prepare(net: Assembly, settings: Settings, solution: Solution): void {
  if (!solution.converged) throw new RangeError('derivatives are only defined at a converged solution');
  if (solution.flowM3s.length !== net.linkCount)
    throw new RangeError(
      `sensitivity: a solution of ${solution.flowM3s.length} links for a network of ${net.linkCount}`,
    );
  const wet = applySettings(net, settings);
  net.scratch.pressure.set(solution.pressurePa);
  // Nozzles and non-returns that are held shut give nothing to a small change either.
  const flow = solution.flowM3s.slice();
  for (let k = 0; k < flow.length; k++) if (flow[k] === 0 && net.oneWay[k] === 1) flow[k] = CLOSED_M3S;
  linearise(net, wet, flow);
  net.system.values.set(net.scratch.matrix);
  factorise(net.system);
}

function addPush(net: Assembly, settings: Settings, solution: Solution, parameter: Parameter, pushes: Pushes): void {
  const { open, loss } = net.scratch;
  const pumpStart = net.pipeCount + net.gateCount;
  const headStart = pumpStart + net.pumpCount;
  switch (parameter.kind) {
    case 'head-factor': {
      const i = parameter.head;
      const node = net.outletNode[i]!;
      if (settings.headOff[i] === 1 || solution.wet[node] === 0) return;
      const k = headStart + i;
      return push(
        pushes,
        k,
        nozzleShare(net, k, solution) * discharge(net.headK[i]!, net.headExponent[i]!, solution.pressurePa[node]!),
      );
    }
    case 'leak': {
      const { node } = parameter;
      if (solution.wet[node] === 0) return;
      const leak = discharge(1, 0.5, solution.pressurePa[node]!);
      const head = net.laterals.headOfNozzle[node]!;
      if (head < 0) return push(pushes, headStart + net.headCount + node, leak);
      // Through the lateral comes only a part of what leaks at its nozzle; the head gives up the rest.
      const k = headStart + head;
      return push(pushes, k, open[k] === 1 ? nozzleShare(net, k, solution) * leak : leak, leak);
    }
    case 'hose-factor': {
      const { pipe } = parameter;
      const head = net.laterals.headOfPipe[pipe]!;
      return pushThrough(
        net,
        pushes,
        head < 0 ? pipe : headStart + head,
        -frictionLoss(net, pipe, solution.flowM3s[pipe]!),
      );
    }
    case 'gate-loss':
      return pushThrough(net, pushes, net.pipeCount + parameter.gate, -loss[net.pipeCount + parameter.gate]!);
    case 'pump-speed': {
      const k = pumpStart + parameter.pump;
      if (open[k] === 0 || isImposed(settings, parameter.pump)) return;
      return pushThrough(net, pushes, k, riseBySpeed(net, parameter.pump, solution.flowM3s[k]!));
    }
    case 'discharge':
      if (isImposed(settings, parameter.pump)) pushThrough(net, pushes, pumpStart + parameter.pump, 1);
      return;
    case 'source-level': {
      const slot = net.nodeCount + parameter.source;
      for (let k = 0; k < pumpStart; k++) {
        if (net.from[k] === slot) pushThrough(net, pushes, k, PA_PER_M);
        if (net.to[k] === slot) pushThrough(net, pushes, k, -PA_PER_M);
      }
      net.pumpSupply.forEach((supply, pump) => {
        if (supply === slot && !isImposed(settings, pump)) pushThrough(net, pushes, pumpStart + pump, PA_PER_M);
      });
    }
  }
}

function push(pushes: Pushes, link: number, flow: number, aside = 0): void {
  pushes.link.push(link);
  pushes.flow.push(flow);
  pushes.aside.push(aside);
}

/**
 * Of a change of flow at the nozzle: what the place where the lateral begins sees of it while its pressure is held
 * still.
 */
function nozzleShare(net: Assembly, link: number, solution: Solution): number {
  const flow = solution.flowM3s[link]!;
  return flow > 0 ? nozzleAt(net, link, flow)[1]! * net.scratch.conductance[link]! : 1;
}

/** What a pressure along an open link adds to its flow. */
function pushThrough(net: Assembly, pushes: Pushes, link: number, pressurePa: number): void {
  if (net.scratch.open[link] === 1) push(pushes, link, pressurePa * net.scratch.conductance[link]!);
}

function viewOf(net: Assembly, solution: Solution, observable: Observable): View {
  const { open, conductance } = net.scratch;
  if (observable.kind === 'pressure') {
    const row = solution.wet[observable.node] === 1 ? net.rowOfNode[observable.node]! : -1;
    return { rows: [row], weights: [1], link: -1, linkWeight: 0 };
  }
  const pumpStart = net.pipeCount + net.gateCount;
  const link =
    observable.kind === 'head-flow' ? pumpStart + net.pumpCount + observable.head : pumpStart + observable.pump;
  const g = open[link] === 1 ? conductance[link]! : 0;
  const rows = [net.rowFrom[link]!, net.rowTo[link]!];
  if (observable.kind !== 'suction') return { rows, weights: [g, -g], link, linkWeight: 1 };
  // d suction = d supply - slope of the suction hose's loss x d flow
  const steep = suctionLoss(net, observable.pump, solution.flowM3s[link]!)[1]!;
  const supply = net.pumpSupply[observable.pump]!;
  rows.push(supply < net.nodeCount ? net.rowOfNode[supply]! : -1);
  return {
    rows,
    weights: [-steep * g, steep * g, 1],
    link,
    linkWeight: -steep,
  };
}
