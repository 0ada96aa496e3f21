/**
 * The network of a layout: every place a node, every head a nozzle node at the far end of its feeder.
 *
 * In: a checked layout. Out: the assembly that the solver works on, and where each named thing is in it. Node order:
 * places, then nozzles in the order of heads. Pipe order: hoses, then feeders in the order of heads.
 */
import type { Layout } from '../../config/layout.ts';
import { assembleNetwork, sourceEnd } from './assembly.ts';
import type { Assembly } from './assembly.ts';
import { openingK } from './nozzle.ts';
import { fitPumpCurve } from './pump-curve.ts';

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
  const nodeOfPlace = positions(places, 0);
  const nodeOfHead = positions(heads, places.length);
  const sourceIndex = positions(sources, 0);
  const assembly = assembleNetwork({
    junctions: [...places, ...heads].map((at) => ({ name: at.id, elevationM: at.elevationM })),
    sources: sources.map((source) => ({ name: source.id, elevationM: source.elevationM })),
    pipes: [
      ...hoses.map((hose) => ({
        name: hose.id,
        from: lookUp(nodeOfPlace, hose.from),
        to: lookUp(nodeOfPlace, hose.to),
        friction: hose.kit.friction,
        boreM: hose.kit.boreM,
        lengthM: hose.lengthM,
        lossFactor: hose.fittingLossFactor,
      })),
      ...heads.map((head) => ({
        name: head.id,
        from: lookUp(nodeOfPlace, head.at),
        to: lookUp(nodeOfHead, head.id),
        friction: head.feeder.friction,
        boreM: head.feeder.boreM,
        lengthM: head.feederLengthM,
        lossFactor: 0,
      })),
    ],
    gates: gates.map((gate) => ({
      name: gate.id,
      from: lookUp(nodeOfPlace, gate.from),
      to: lookUp(nodeOfPlace, gate.to),
      boreM: gate.boreM,
      openLossFactor: gate.openLossFactor,
    })),
    pumps: pumps.map((pump) => ({
      name: pump.id,
      from: sourceEnd(lookUp(sourceIndex, pump.source)),
      to: lookUp(nodeOfPlace, pump.outlet),
      curve: fitPumpCurve(pump.kit.curveFlowM3s, pump.kit.curveRisePa),
      elevationM: pump.elevationM,
      suction: {
        friction: pump.suctionHose.friction,
        boreM: pump.suctionHose.boreM,
        lengthM: pump.suctionLengthM,
        lossFactor: pump.suctionLossFactor,
      },
    })),
    heads: heads.map((head) => ({
      name: head.id,
      junction: lookUp(nodeOfHead, head.id),
      k: head.kit.k,
      exponent: head.kit.exponent,
      openK: openingK(head.kit.openBoreM, head.kit.openDischargeCoefficient),
    })),
  });
  return {
    ...assembly,
    layout,
    nodeOfPlace,
    nodeOfHead,
    pipeOfHose: positions(hoses, 0),
    pipeOfFeeder: positions(heads, hoses.length),
    gateIndex: positions(gates, 0),
    headIndex: positions(heads, 0),
    pumpIndex: positions(pumps, 0),
    sourceIndex,
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
