/**
 * The network of a layout: every place a node, every head a nozzle node at the far end of its feeder.
 *
 * In: a checked layout. Out: the assembly that the solver works on, and where each named thing is in it. Node order:
 * places, then nozzles in the order of heads. Pipe order: hoses, then feeders in the order of heads. Outlets after the
 * heads: relief valves, and what percolating hoses weep.
 */
import type { Head, Hose, Layout, Pump } from '../../../config/layout/layout.ts';
import { assembleNetwork } from './assemble.ts';
import type { Assembly } from './assembly.ts';
import { HAZEN_WILLIAMS_EXPONENT } from './friction.ts';
import { openingK } from './nozzle.ts';
import { sourceEnd } from './parts.ts';
import type { HeadPart, PipePart, PumpPart } from './parts.ts';
import { fitPumpCurve } from './pump-curve.ts';
import { mainsLoss } from './source.ts';

export interface Network extends Assembly {
  readonly layout: Layout;
  readonly nodeOfPlace: ReadonlyMap<string, number>;
  readonly nodeOfHead: ReadonlyMap<string, number>;
  readonly pipeOfHose: ReadonlyMap<string, number>;
  readonly pipeOfFeeder: ReadonlyMap<string, number>;
  readonly gateIndex: ReadonlyMap<string, number>;
  readonly headIndex: ReadonlyMap<string, number>;
  readonly pumpIndex: ReadonlyMap<string, number>;
  readonly sourceIndex: ReadonlyMap<string, number>;
}

export function buildNetwork(layout: Layout): Network {
  const { places, sources, pumps, hoses, gates, heads } = layout;
  const nodes: Nodes = {
    nodeOfPlace: positions(places, 0),
    nodeOfHead: positions(heads, places.length),
    sourceIndex: positions(sources, 0),
  };
  const assembly = assembleNetwork({
    junctions: [...places, ...heads].map((at) => ({ name: at.id, elevationM: at.elevationM })),
    sources: sources.map((source) => ({ name: source.id, elevationM: source.elevationM })),
    pipes: [...hoses.map((hose) => hosePart(hose, nodes)), ...heads.map((head) => feederPart(head, nodes))],
    gates: gates.map((gate) => ({
      name: gate.id,
      from: lookUp(nodes.nodeOfPlace, gate.from),
      to: lookUp(nodes.nodeOfPlace, gate.to),
      boreM: gate.boreM,
      openLossFactor: gate.openLossFactor,
    })),
    pumps: pumps.map((pump) => pumpPart(layout, pump, nodes)),
    heads: [
      ...heads.map((head) => headPart(head, nodes)),
      ...reliefs(layout, nodes.nodeOfPlace),
      ...weeps(layout, nodes.nodeOfPlace),
    ],
  });
  return {
    ...assembly,
    layout,
    ...nodes,
    pipeOfHose: positions(hoses, 0),
    pipeOfFeeder: positions(heads, hoses.length),
    gateIndex: positions(gates, 0),
    headIndex: positions(heads, 0),
    pumpIndex: positions(pumps, 0),
  };
}

/** Where the ends of a part are found by name. */
type Nodes = Pick<Network, 'nodeOfPlace' | 'nodeOfHead' | 'sourceIndex'>;

function hosePart(hose: Hose, { nodeOfPlace }: Nodes): PipePart {
  return {
    name: hose.id,
    from: lookUp(nodeOfPlace, hose.from),
    to: lookUp(nodeOfPlace, hose.to),
    friction: hose.kit.friction,
    boreM: hose.kit.boreM,
    lengthM: hose.lengthM,
    lossFactor: hose.fittingLossFactor,
    oneWay: hose.checkValve,
  };
}

function feederPart(head: Head, { nodeOfPlace, nodeOfHead }: Nodes): PipePart {
  return {
    name: head.id,
    from: lookUp(nodeOfPlace, head.at),
    to: lookUp(nodeOfHead, head.id),
    friction: head.feeder.friction,
    boreM: head.feeder.boreM,
    lengthM: head.feederLengthM,
    lossFactor: 0,
  };
}

function pumpPart(layout: Layout, pump: Pump, { nodeOfPlace, sourceIndex }: Nodes): PumpPart {
  return {
    name: pump.id,
    from: pump.inlet === null ? sourceEnd(lookUp(sourceIndex, pump.source)) : lookUp(nodeOfPlace, pump.inlet),
    to: lookUp(nodeOfPlace, pump.outlet),
    curve: fitPumpCurve(pump.kit.curveFlowM3s, pump.kit.curveRisePa),
    elevationM: pump.elevationM,
    suction: {
      friction: pump.suctionHose.friction,
      boreM: pump.suctionHose.boreM,
      lengthM: pump.suctionLengthM,
      lossFactor: pump.suctionLossFactor,
      supplyLoss: pump.inlet === null ? supplyLoss(layout, pump.source) : 0,
    },
  };
}

function headPart(head: Head, { nodeOfHead }: Nodes): HeadPart {
  return {
    name: head.id,
    junction: lookUp(nodeOfHead, head.id),
    k: head.kit.k,
    exponent: head.kit.exponent,
    openK: openingK(head.kit.openBoreM, head.kit.openDischargeCoefficient),
  };
}

function positions(parts: readonly { readonly id: string }[], offset: number): Map<string, number> {
  return new Map(parts.map((part, i) => [part.id, offset + i]));
}

function lookUp(index: ReadonlyMap<string, number>, id: string): number {
  const at = index.get(id);
  if (at === undefined) throw new RangeError(`the layout names ${id}, which is not in it`);
  return at;
}

function supplyLoss({ sources }: Layout, id: string): number {
  const mains = sources.find((source) => source.id === id)?.mains ?? null;
  return mains === null ? 0 : mainsLoss(mains);
}

/** Of a relief valve into the open. Judgement: a poppet and its elbow pass about this share of the ideal jet. */
const RELIEF_DISCHARGE = 0.6;

function reliefs({ pumps }: Layout, nodeOfPlace: ReadonlyMap<string, number>): HeadPart[] {
  return pumps.flatMap(({ id, outlet, relief }) => {
    if (relief === null) return [];
    const k = openingK(relief.boreM, RELIEF_DISCHARGE);
    return [
      {
        name: `${id} relief`,
        junction: lookUp(nodeOfPlace, outlet),
        k,
        exponent: 0.5,
        openK: k,
        opensPa: relief.opensPa,
      },
    ];
  });
}

/**
 * What a percolating hose weeps, let out at its two ends in shares that give a hose shut at its far end the friction of
 * flow that leaves it evenly: far share^1.852 = 1/2.852 (Christiansen 1942, many outlets).
 */
const FAR_SHARE = (1 / (1 + HAZEN_WILLIAMS_EXPONENT)) ** (1 / HAZEN_WILLIAMS_EXPONENT);

function weeps({ hoses }: Layout, nodeOfPlace: ReadonlyMap<string, number>): HeadPart[] {
  return hoses.flatMap(({ id, kit, lengthM, from, to }) => {
    const whole = (kit.weepKPerM ?? 0) * lengthM;
    if (whole === 0) return [];
    const outlet = (place: string, share: number): HeadPart => ({
      name: id,
      junction: lookUp(nodeOfPlace, place),
      k: share * whole,
      exponent: 0.5,
      openK: share * whole,
    });
    return [outlet(from, 1 - FAR_SHARE), outlet(to, FAR_SHARE)];
  });
}
