/**
 * Puts a network together: parts in, the tables and the elimination plan that the solver works on out.
 *
 * In: parts in SI. Out: an assembly (assembly.ts). Throws RangeError that names the part where one cannot be.
 */
import { linksOfNodes } from './adjacency.ts';
import type { Assembly } from './assembly.ts';
import { PA_PER_M, WATER_VISCOSITY_M2S } from './constants.ts';
import { boreArea, velocityPressure } from './friction.ts';
import { hoseTable, TRICKLE_MPS } from './hose-table.ts';
import { planLinearSystem } from './linear-system.ts';
import { findLaterals, noLaterals } from './lumped-laterals.ts';
import type { Laterals } from './lumped-laterals.ts';
import { checkParts } from './parts.ts';
import type { Parts } from './parts.ts';
import { workSpace } from './scratch.ts';

export function assembleNetwork(parts: Parts): Assembly {
  checkParts(parts);
  let without: Assembly | undefined;
  return assemble(parts, findLaterals(parts), () => (without ??= assemble(parts, noLaterals(parts), () => without!)));
}

function assemble(parts: Parts, laterals: Laterals, withoutLaterals: () => Assembly): Assembly {
  const { junctions, sources, pipes, gates, pumps, heads } = parts;
  const viscosity = parts.viscosityM2s ?? WATER_VISCOSITY_M2S;
  const outletNode = Int32Array.from([...heads.map((head) => head.junction), ...junctions.keys()]);
  const ends = endsOfLinks(parts, outletNode, laterals);
  const linkCount = ends.from.length;
  const solved = equations(junctions.length, ends, laterals);
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
    laterals,
    usualHose: usualHoses(parts, laterals, linkCount),
    withoutLaterals,
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
    warmStart: { kept: null },
  };
}

/** Which nodes are solved for, in which order, and which equations each link joins. */
function equations(
  nodeCount: number,
  { from, to }: Ends,
  { headOfNozzle }: Laterals,
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

function usualHoses({ pipes, gates, pumps }: Parts, laterals: Laterals, linkCount: number): Int32Array {
  const isUsual = (pipe: number) => pipes[pipe]!.friction.law === 'hazen-williams' && !pipes[pipe]!.oneWay;
  const hoses = new Int32Array(linkCount).fill(-1);
  pipes.forEach((_, i) => (hoses[i] = isUsual(i) ? i : -1));
  const headStart = pipes.length + gates.length + pumps.length;
  laterals.pipe.forEach((pipe, head) => (hoses[headStart + head] = pipe >= 0 && isUsual(pipe) ? pipe : -1));
  return hoses;
}

type Ends = Pick<Assembly, 'from' | 'to' | 'liftPa' | 'oneWay' | 'pumpSupply' | 'pumpLiftPa'>;

function endsOfLinks(parts: Parts, outletNode: Int32Array, laterals: Laterals): Ends {
  const { junctions, sources, pipes, gates, pumps, heads } = parts;
  const slot = (end: number) => (end >= 0 ? end : junctions.length - 1 - end);
  const elevation = (end: number) => (end >= 0 ? junctions[end]! : sources[-1 - end]!).elevationM;
  const firstPump = junctions.length + sources.length;
  const air = firstPump + pumps.length;
  const joined = [...pipes, ...gates, ...pumps];
  const outlets = [...outletNode];
  const outletLift = new Float64Array(outlets.length);
  heads.forEach((head, i) => (outletLift[i] = -(head.opensPa ?? 0)));
  laterals.pipe.forEach((pipe, head) => {
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

const NO_SUCTION = {
  friction: { law: 'hazen-williams', c: 140 },
  boreM: 1,
  lengthM: 0,
  lossFactor: 0,
} as const;
