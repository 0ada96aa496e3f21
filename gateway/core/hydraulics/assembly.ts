/**
 * A network as the solver sees it: junctions and links in typed arrays, whatever they were made from.
 *
 * In: parts in SI (m, m3/s, Pa) whose ends are numbers, a junction >= 0 or a source as `sourceEnd(i)`. Out: tables
 * that never change and the elimination plan. Links lie in one sequence: pipes, gates, pumps, then outlets to air:
 * heads first, one possible leak for every junction after them. The link of a head at the end of a spur begins where
 * the spur begins. Layouts come here through network.ts; textbook networks with fixed demands come here directly.
 */
import type { FrictionLaw } from '../../../config/kit/kit.ts';
import { PA_PER_M, WATER_VISCOSITY_M2S } from './constants.ts';
import { boreArea, velocityPressure } from './friction.ts';
import { hoseTable, TRICKLE_MPS } from './hose-table.ts';
import type { HoseTable } from './hose-table.ts';
import { planLinearSystem } from './linear-system.ts';
import type { LinearSystem } from './linear-system.ts';
import type { PumpCurve } from './pump-curve.ts';
import { noNeighbour } from './warm-start.ts';
import type { Neighbour } from './warm-start.ts';
import { LEAK_EXPONENT } from './apply-settings.ts';
import { linksOfNodes } from './connectivity.ts';
import type { Adjacency } from './connectivity.ts';
import { findSpurs, noSpurs } from './lumped-laterals.ts';
import type { Spurs } from './lumped-laterals.ts';

export interface JunctionPart {
  readonly name: string;
  readonly elevationM: number;
  readonly demandM3s?: number;
}
/** Elevation of the floor: the settings add the depth of water. */
export interface SourcePart {
  readonly name: string;
  readonly elevationM: number;
}
export interface PipePart {
  readonly name: string;
  readonly from: number;
  readonly to: number;
  readonly friction: FrictionLaw;
  readonly boreM: number;
  readonly lengthM: number;
  readonly lossFactor: number;
  /** Lets water through from `from` to `to` only. */
  readonly oneWay?: boolean;
  /** Loss of what comes before it, Pa per (m3/s)^1.852: a hydrant's own. */
  readonly supplyLoss?: number;
}
export interface GatePart {
  readonly name: string;
  readonly from: number;
  readonly to: number;
  readonly boreM: number;
  readonly openLossFactor: number;
}
export interface PumpPart {
  readonly name: string;
  readonly from: number;
  readonly to: number;
  readonly curve: PumpCurve;
  /** Height of the eye, where the suction pressure is measured. */
  readonly elevationM: number;
  readonly suction: Omit<PipePart, 'name' | 'from' | 'to' | 'oneWay'> | null;
}
export interface HeadPart {
  readonly name: string;
  readonly junction: number;
  readonly k: number;
  readonly exponent: number;
  /** K of the fitting when the head is gone, exponent 1/2. */
  readonly openK: number;
  /** A relief valve: gives nothing below this pressure, Pa, and from there as if it were nil. */
  readonly opensPa?: number;
}
export interface Parts {
  readonly junctions: readonly JunctionPart[];
  readonly sources: readonly SourcePart[];
  readonly pipes: readonly PipePart[];
  readonly gates: readonly GatePart[];
  readonly pumps: readonly PumpPart[];
  readonly heads: readonly HeadPart[];
  readonly viscosityM2s?: number;
}

export const sourceEnd = (source: number): number => -1 - source;

export interface Assembly {
  readonly nodeCount: number;
  readonly sourceCount: number;
  readonly pipeCount: number;
  readonly gateCount: number;
  readonly pumpCount: number;
  readonly headCount: number;
  readonly linkCount: number;
  readonly nodeName: readonly string[];
  readonly linkName: readonly string[];
  readonly nodeDemandM3s: Float64Array;
  readonly hasDemands: boolean;
  /** Ends of each link in the pressure vector: junctions, sources, one slot a pump (what it draws from), the air. */
  readonly from: Int32Array;
  readonly to: Int32Array;
  /** Pressure that a link gains by falling from its `from` to its `to`, Pa. */
  readonly liftPa: Float64Array;
  /** The same ends as steps of the elimination; -1: known, or eliminated by hand as the nozzle of a spur. */
  readonly rowFrom: Int32Array;
  readonly rowTo: Int32Array;
  /** The same of each node, and the node of each step. */
  readonly rowOfNode: Int32Array;
  readonly nodeOfRow: Int32Array;
  readonly spurs: Spurs;
  /** Per link: the hose of a plain Hazen-Williams link, or of the spur of a head; -1: any other link. */
  readonly usualHose: Int32Array;
  /** The same network, every node an equation of its own; made when first asked for. */
  readonly withoutSpurs: () => Assembly;
  /** 1: water passes from `from` to `to` only. */
  readonly oneWay: Uint8Array;
  readonly pipes: HoseTable;
  readonly suctions: HoseTable;
  /** Pa per (m3/s)^2 fully open, and the trickle flow, per gate. */
  readonly gateLoss: Float64Array;
  readonly gateTrickleM3s: Float64Array;
  readonly pumpCurves: readonly PumpCurve[];
  /**
   * Per pump, index in the pressure vector of the source or junction that it draws from, and Pa from there up to its
   * eye.
   */
  readonly pumpSupply: Int32Array;
  readonly pumpLiftPa: Float64Array;
  /** Per outlet: heads, then a leak a junction. */
  readonly outletNode: Int32Array;
  readonly headK: Float64Array;
  readonly headExponent: Float64Array;
  readonly headOpenK: Float64Array;
  readonly adjacency: Adjacency;
  readonly system: LinearSystem;
  readonly scratch: Scratch;
  readonly neighbour: Neighbour;
}

/** Work space of a solve. Solving is synchronous, so one set a network is enough. */
export interface Scratch {
  /** Links that water can pass, rising; the first `activeCount` hold. */
  readonly active: Int32Array;
  activeCount: number;
  /** Work list of the sweep. */
  readonly rest: Int32Array;
  readonly open: Uint8Array;
  /**
   * Which links the settings leave open, before those that no water reaches are closed; and the same of the last solve.
   */
  readonly asked: Uint8Array;
  readonly askedBefore: Uint8Array;
  /** Per node and known end, 1: reached. A new array whenever it changes, since solutions keep it. */
  wet: Uint8Array;
  /**
   * Strength of each link under the settings in force: friction Pa, gate Pa per (m3/s)^2, pump speed (or IMPOSED),
   * outlet K.
   */
  readonly strength: Float64Array;
  /** Of outlets. */
  readonly exponent: Float64Array;
  readonly pressure: Float64Array;
  readonly loss: Float64Array;
  readonly conductance: Float64Array;
  /** Fall of pressure along each link, lift included, and change of its flow in the last step. */
  readonly drop: Float64Array;
  readonly change: Float64Array;
  /** The linear system as added up, in the order of `system.values`; the factor is made of a copy. */
  readonly matrix: Float64Array;
  /**
   * By elimination step: right side of the system and then its solution, and the change of pressure in the last step.
   */
  readonly rightSide: Float64Array;
  readonly shift: Float64Array;
}

export function assembleNetwork(parts: Parts): Assembly {
  checkParts(parts);
  let without: Assembly | undefined;
  return assemble(parts, findSpurs(parts), () => (without ??= assemble(parts, noSpurs(parts), () => without!)));
}

function assemble(parts: Parts, spurs: Spurs, withoutSpurs: () => Assembly): Assembly {
  const { junctions, sources, pipes, gates, pumps, heads } = parts;
  const viscosity = parts.viscosityM2s ?? WATER_VISCOSITY_M2S;
  const outletNode = Int32Array.from([...heads.map((head) => head.junction), ...junctions.keys()]);
  const ends = endsOfLinks(parts, outletNode, spurs);
  const linkCount = ends.from.length;
  const solved = equations(junctions.length, ends, spurs);
  return {
    nodeCount: junctions.length,
    sourceCount: sources.length,
    pipeCount: pipes.length,
    gateCount: gates.length,
    pumpCount: pumps.length,
    headCount: heads.length,
    linkCount,
    nodeName: junctions.map((junction) => junction.name),
    linkName: [...pipes, ...gates, ...pumps, ...heads, ...junctions].map((part) => part.name),
    hasDemands: junctions.some((junction) => (junction.demandM3s ?? 0) !== 0),
    nodeDemandM3s: Float64Array.from(junctions, (junction) => junction.demandM3s ?? 0),
    ...ends,
    ...solved,
    spurs,
    usualHose: usualHoses(parts, spurs, linkCount),
    withoutSpurs,
    pipes: hoseTable(pipes, viscosity),
    suctions: hoseTable(
      pumps.map((pump) => pump.suction ?? NO_SUCTION),
      viscosity,
    ),
    gateLoss: Float64Array.from(gates, (gate) => gate.openLossFactor * velocityPressure(gate.boreM)),
    gateTrickleM3s: Float64Array.from(gates, (gate) => TRICKLE_MPS * boreArea(gate.boreM)),
    pumpCurves: pumps.map((pump) => pump.curve),
    outletNode,
    headK: Float64Array.from(heads, (head) => head.k),
    headExponent: Float64Array.from(heads, (head) => head.exponent),
    headOpenK: Float64Array.from(heads, (head) => head.openK),
    adjacency: linksOfNodes(junctions.length, ends.from, ends.to),
    scratch: workSpace(linkCount, junctions.length + sources.length + pumps.length + 1, solved.system),
    neighbour: noNeighbour(),
  };
}

/** Which nodes are solved for, in which order, and which equations each link joins. */
function equations(
  nodeCount: number,
  { from, to }: Ends,
  { headOfNozzle }: Spurs,
): Pick<Assembly, 'system' | 'rowOfNode' | 'nodeOfRow' | 'rowFrom' | 'rowTo'> {
  const solved = Array.from({ length: nodeCount }, (_, node) => node).filter((node) => headOfNozzle[node]! < 0);
  const equation = new Int32Array(nodeCount).fill(-1);
  solved.forEach((node, i) => (equation[node] = i));
  const of = (end: number) => (end < nodeCount ? equation[end]! : -1);
  const system = planLinearSystem(solved.length, from.map(of), to.map(of));
  const rowOfNode = equation.map((i) => (i < 0 ? -1 : system.step[i]!));
  const nodeOfRow = new Int32Array(solved.length);
  solved.forEach((node) => (nodeOfRow[rowOfNode[node]!] = node));
  const row = (end: number) => (end < nodeCount ? rowOfNode[end]! : -1);
  return {
    system,
    rowOfNode,
    nodeOfRow,
    rowFrom: from.map(row),
    rowTo: to.map(row),
  };
}

function usualHoses({ pipes, gates, pumps }: Parts, spurs: Spurs, linkCount: number): Int32Array {
  const isUsual = (pipe: number) => pipes[pipe]!.friction.law === 'hazen-williams' && !pipes[pipe]!.oneWay;
  const hoses = new Int32Array(linkCount).fill(-1);
  pipes.forEach((_, i) => (hoses[i] = isUsual(i) ? i : -1));
  const headStart = pipes.length + gates.length + pumps.length;
  spurs.pipe.forEach((pipe, head) => (hoses[headStart + head] = pipe >= 0 && isUsual(pipe) ? pipe : -1));
  return hoses;
}

type Ends = Pick<Assembly, 'from' | 'to' | 'liftPa' | 'oneWay' | 'pumpSupply' | 'pumpLiftPa'>;

function endsOfLinks(parts: Parts, outletNode: Int32Array, spurs: Spurs): Ends {
  const { junctions, sources, pipes, gates, pumps, heads } = parts;
  const slot = (end: number) => (end >= 0 ? end : junctions.length - 1 - end);
  const elevation = (end: number) => (end >= 0 ? junctions[end]! : sources[-1 - end]!).elevationM;
  const firstPump = junctions.length + sources.length;
  const air = firstPump + pumps.length;
  const joined = [...pipes, ...gates, ...pumps];
  const outlets = [...outletNode];
  const outletLift = new Float64Array(outlets.length);
  heads.forEach((head, i) => (outletLift[i] = -(head.opensPa ?? 0)));
  spurs.pipe.forEach((pipe, head) => {
    if (pipe < 0) return;
    const { from, to } = pipes[pipe]!;
    outlets[head] = slot(from);
    outletLift[head]! += PA_PER_M * (elevation(from) - elevation(to));
  });
  const pumpFrom = pumps.map((pump, i) => (pump.from >= 0 ? pump.from : firstPump + i));
  return {
    from: Int32Array.from([...[...pipes, ...gates].map((link) => slot(link.from)), ...pumpFrom, ...outlets]),
    to: Int32Array.from([...joined.map((link) => slot(link.to)), ...outlets.map(() => air)]),
    liftPa: Float64Array.from([
      ...joined.map((link) => PA_PER_M * (elevation(link.from) - elevation(link.to))),
      ...outletLift,
    ]),
    oneWay: Uint8Array.from([
      ...pipes.map((pipe) => (pipe.oneWay ? 1 : 0)),
      ...gates.map(() => 0),
      ...[...pumps, ...outlets].map(() => 1),
    ]),
    pumpSupply: Int32Array.from(pumps, (pump) => slot(pump.from)),
    pumpLiftPa: Float64Array.from(pumps, (pump) => PA_PER_M * (elevation(pump.from) - pump.elevationM)),
  };
}

function workSpace(linkCount: number, pressureCount: number, { size, values }: LinearSystem): Scratch {
  const perLink = () => new Float64Array(linkCount);
  return {
    active: new Int32Array(linkCount),
    activeCount: 0,
    rest: new Int32Array(linkCount),
    open: new Uint8Array(linkCount),
    asked: new Uint8Array(linkCount),
    // No pattern of zeros and ones: the first solve works everything out.
    askedBefore: new Uint8Array(linkCount).fill(2),
    wet: new Uint8Array(0),
    strength: perLink(),
    // Of leaks it never changes; heads set theirs anew in each solve.
    exponent: perLink().fill(LEAK_EXPONENT),
    pressure: new Float64Array(pressureCount),
    loss: perLink(),
    conductance: perLink(),
    drop: perLink(),
    change: perLink(),
    matrix: new Float64Array(values.length),
    rightSide: new Float64Array(size),
    shift: new Float64Array(size),
  };
}

const NO_SUCTION = {
  friction: { law: 'hazen-williams', c: 140 },
  boreM: 1,
  lengthM: 0,
  lossFactor: 0,
} as const;

function checkParts(parts: Parts): void {
  const isEnd = (end: number) => Number.isInteger(end) && end < parts.junctions.length && end >= -parts.sources.length;
  for (const link of [...parts.pipes, ...parts.gates, ...parts.pumps]) {
    if (!isEnd(link.from) || !isEnd(link.to)) throw new RangeError(`${link.name}: an end that does not exist`);
    if (link.from === link.to) throw new RangeError(`${link.name}: both ends at the same place`);
  }
  for (const pipe of parts.pipes) {
    if (!(pipe.boreM > 0 && pipe.lengthM >= 0 && pipe.lossFactor >= 0)) {
      throw new RangeError(`${pipe.name}: bore, length and loss factor must be positive`);
    }
  }
  for (const gate of parts.gates) {
    if (!(gate.boreM > 0 && gate.openLossFactor >= 0))
      throw new RangeError(`${gate.name}: bore and loss factor must be positive`);
  }
  for (const head of parts.heads) {
    if (!(head.k >= 0 && head.openK >= 0 && head.exponent > 0))
      throw new RangeError(`${head.name}: K and exponent must be positive`);
    if (!(head.junction >= 0 && isEnd(head.junction))) throw new RangeError(`${head.name}: sits nowhere`);
  }
}
