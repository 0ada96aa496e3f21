/**
 * The same network in the EPANET engine (version 2.3, public domain, through a WebAssembly build): an independent
 * opinion.
 *
 * In: parts and settings. Out: heads in m and flows in m3/s as EPANET finds them. Two of its constants are rounded
 * otherwise than here (EPANET source, types.h: g = 32.2 ft/s2 in minor losses and Darcy-Weisbach): loss factors and
 * Darcy lengths are scaled by the ratio, so that both engines are given the same physics. What no source reaches is
 * left out: EPANET cannot solve for heads that nothing determines. Heads said to be starved and pumps said to be held
 * shut by others are taken off as well, since the engine loses its way among many of them or lets a little through;
 * that it was right to shut them shows in the pressures it finds there.
 */
import { AnalysisStatistic, InitHydOption, LinkProperty, NodeProperty, Project, Workspace } from 'epanet-js';
import type { Parts, PipePart } from '../../gateway/core/hydraulics/parts.ts';
import { GRAVITY_MPS2, M_PER_FT } from '../../config/units.ts';
import { PA_PER_M, WATER_VISCOSITY_M2S } from '../../gateway/core/hydraulics/constants.ts';
import type { Settings } from '../../gateway/core/hydraulics/settings.ts';

const GRAVITY_RATIO = (32.2 * M_PER_FT) / GRAVITY_MPS2;
/** EPANET writes minor loss as 0.02517 K q2/d4 (ft, ft3/s): 8/(pi2 g) with its own rounding. */
const MINOR_RATIO = 8 / Math.PI ** 2 / GRAVITY_MPS2 / (0.02517 / M_PER_FT);

export interface Opinion {
  /** False where the engine says itself that it has not found a balance: then its figures are no opinion. */
  readonly balanced: boolean;
  /** Per junction, m; NaN where no source reaches. */
  readonly headM: number[];
  readonly pipeFlowM3s: number[];
  readonly gateFlowM3s: number[];
  readonly pumpFlowM3s: number[];
  readonly outflowM3s: number[];
}

let workspace: Workspace | null = null;

export async function openEngine(): Promise<Workspace> {
  if (workspace) return workspace;
  workspace = new Workspace();
  await workspace.loadModule();
  return workspace;
}

export interface Reach {
  /** Per junction, 1: joined to a source. */
  readonly wet: Uint8Array;
  /** Per head; 0: starved. */
  readonly headFlowM3s: Float64Array;
  /** Per junction, the same of its leak. */
  readonly leakFlowM3s: Float64Array;
  /** Per pump, true: others hold it shut. */
  readonly heldShut: readonly boolean[];
}

export function askEpanet(engine: Workspace, parts: Parts, settings: Settings, reach: Reach): Opinion {
  const { wet } = reach;
  const project = new Project(engine);
  engine.writeFile('network.inp', inputFile(parts, settings, reach));
  project.open('network.inp', 'network.rpt', 'network.out');
  project.openH();
  project.initH(InitHydOption.NoSave);
  project.runH();
  const node = (i: number, property: NodeProperty) =>
    wet[i] === 1 ? project.getNodeValue(project.getNodeIndex(parts.junctions[i]!.name), property) : NaN;
  const flow = (link: { name: string; to: number }) =>
    wet[link.to] === 1 ? project.getLinkValue(project.getLinkIndex(link.name), LinkProperty.Flow) / 1000 : 0;
  const opinion = {
    balanced: project.getStatistic(AnalysisStatistic.RelativeError) <= ACCURACY,
    headM: parts.junctions.map((_, i) => node(i, NodeProperty.Head)),
    // Demand counts what emitters discharge as well.
    outflowM3s: parts.junctions.map((_, i) => node(i, NodeProperty.Demand) / 1000),
    pipeFlowM3s: parts.pipes.map(flow),
    gateFlowM3s: parts.gates.map((gate) => (wet[gate.from] === 1 ? flow(gate) : 0)),
    pumpFlowM3s: parts.pumps.map(flow),
  };
  project.closeH();
  project.close();
  return opinion;
}

const ACCURACY = 1e-5;

export function inputFile(
  parts: Parts,
  settings: Settings,
  { wet, headFlowM3s, leakFlowM3s, heldShut }: Reach,
): string {
  const reached = ({ to }: { to: number }) => wet[to] === 1;
  const darcy = [...parts.pipes, ...parts.pumps.flatMap((pump) => pump.suction ?? [])].some(
    ({ friction }) => friction.law === 'darcy-weisbach',
  );
  const end = (index: number) => (index >= 0 ? parts.junctions[index]!.name : parts.sources[-1 - index]!.name);
  const pipe = (line: Omit<PipePart, 'from' | 'to'>, from: string, to: string, factor: number) =>
    [line.name, from, to, ...pipeNumbers(line, factor), line.oneWay ? 'CV' : 'OPEN'].join(' ');
  const suction = (name: string) => `${name}-eye`;
  const emitters = new Map<number, number>();
  parts.heads.forEach((head, i) => {
    if (headFlowM3s[i] === 0) return;
    const k = settings.headOff[i] === 1 ? head.openK : head.k * settings.headFactor[i]!;
    if (head.exponent !== 0.5) throw new RangeError('one emitter exponent for the whole network');
    emitters.set(head.junction, (emitters.get(head.junction) ?? 0) + k);
  });
  settings.leakK.forEach((k, i) => {
    if (leakFlowM3s[i]! > 0) emitters.set(i, (emitters.get(i) ?? 0) + k);
  });
  const gate = (i: number) => parts.gates[i]!.openLossFactor / settings.gateOpening[i]! ** 2;
  const shut = parts.gates.filter((g, i) => settings.gateOpening[i] === 0 && wet[g.from] === 1 && wet[g.to] === 1);
  const sections: Record<string, string[]> = {
    JUNCTIONS: [
      ...parts.junctions.flatMap((j, i) =>
        wet[i] === 1 ? `${j.name} ${j.elevationM} ${(j.demandM3s ?? 0) * 1000}` : [],
      ),
      ...parts.pumps.filter((pump) => pump.suction).map((pump) => `${suction(pump.name)} ${pump.elevationM} 0`),
    ],
    RESERVOIRS: parts.sources.map((source, i) => `${source.name} ${source.elevationM + settings.sourceLevelM[i]!}`),
    PIPES: [
      ...parts.pipes.flatMap((line, i) =>
        reached(line) ? pipe(line, end(line.from), end(line.to), settings.hoseFactor[i]!) : [],
      ),
      ...parts.pumps.flatMap((pump) =>
        pump.suction ? pipe({ name: `${pump.name}-hose`, ...pump.suction }, end(pump.from), suction(pump.name), 1) : [],
      ),
    ],
    PUMPS: parts.pumps.map((pump, i) => {
      const from = pump.suction ? suction(pump.name) : end(pump.from);
      return `${pump.name} ${from} ${end(pump.to)} HEAD C${i} SPEED ${settings.pumpSpeed[i]!}`;
    }),
    VALVES: parts.gates.flatMap((g, i) => {
      if (wet[g.from] === 0 || wet[g.to] === 0) return [];
      const k = settings.gateOpening[i] === 0 ? 1 : gate(i);
      return `${g.name} ${end(g.from)} ${end(g.to)} ${g.boreM * 1000} TCV ${k * MINOR_RATIO} ${k * MINOR_RATIO}`;
    }),
    CURVES: parts.pumps.flatMap((pump, i) =>
      [...pump.curve.flowM3s].map((q, n) => `C${i} ${q * 1000} ${pump.curve.risePa[n]! / PA_PER_M}`),
    ),
    EMITTERS: [...emitters]
      .filter(([i, k]) => k > 0 && wet[i] === 1)
      .map(([i, k]) => `${parts.junctions[i]!.name} ${k * Math.sqrt(PA_PER_M) * 1000}`),
    STATUS: [...shut, ...parts.pumps.filter((_, i) => heldShut[i])].map(({ name }) => `${name} CLOSED`),
    OPTIONS: [
      'UNITS LPS',
      'PRESSURE METERS',
      `HEADLOSS ${darcy ? 'D-W' : 'H-W'}`,
      `VISCOSITY ${parts.viscosityM2s ?? WATER_VISCOSITY_M2S}`,
      'EMITTER EXPONENT 0.5',
      'DAMPLIMIT 0.01',
      'TRIALS 1000',
      `ACCURACY ${ACCURACY}`,
      'HEADERROR 0.00001',
      'FLOWCHANGE 0.00001',
    ],
  };
  return (
    Object.entries(sections)
      .map(([title, lines]) => `[${title}]\n${lines.join('\n')}\n`)
      .join('\n') + '\n[END]\n'
  );
}

function pipeNumbers(line: Omit<PipePart, 'from' | 'to'>, factor: number): number[] {
  const { friction, boreM, lengthM, lossFactor } = line;
  const boreMm = boreM * 1000;
  const minor = lossFactor * MINOR_RATIO;
  switch (friction.law) {
    case 'hazen-williams':
      return [lengthM * factor, boreMm, friction.c, minor];
    case 'darcy-weisbach':
      return [lengthM * factor * GRAVITY_RATIO, boreMm, friction.roughnessM * 1000, minor];
    case 'coefficient':
      throw new RangeError('the handbook coefficient is not a law of the other engine');
  }
}
