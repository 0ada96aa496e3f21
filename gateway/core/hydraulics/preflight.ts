/**
 * Would this lay work, before anybody turns the pump? Every head, pump, source, line and gate held against its limits.
 *
 * In: a layout, water temperature degC. Out: facts in SI with a standing each; words are for the screen to find. The
 * lay is solved as rigged, full and at rated speed, then once more for every gate shut. Limit: kit figures are good to
 * 5-10 %, and wind, kinks and worn nozzles are not in them: a head that stands close to a limit here may be past it
 * there.
 */
import type { Head, Layout } from '../../../config/layout/layout.ts';
import { judgeSuction, npshAvailableM } from './cavitation.ts';
import type { SuctionVerdict } from './cavitation.ts';
import { fillTimeS, layVolume } from './lay-volume.ts';
import { standingOf, WATER_C, type HeadStanding } from './limits.ts';
import { buildNetwork } from './network.ts';
import type { Network } from './network.ts';

import { asRigged, copySettings } from './settings.ts';
import { shockPa, velocityMps } from './shock.ts';
import { solveRigged } from './governor.ts';
import type { GovernedState } from './governor.ts';
import type { Fault, Solution } from './solution.ts';
import { sourceDepthM, volumeAtDepth } from './source.ts';
import { applicationRateMps, wettedAreaM2 } from './wetting.ts';

export interface HeadCheck {
  readonly head: string;
  readonly pressurePa: number;
  readonly flowM3s: number;
  readonly standing: HeadStanding;
  /** Mean over the arc at the kit's throw, m/s; 1 mm/h is 2.78e-7. */
  readonly rateMps: number;
}
export interface PumpCheck {
  readonly pump: string;
  readonly flowM3s: number;
  readonly dischargePa: number;
  readonly suctionPa: number;
  readonly npshAvailableM: number;
  readonly suction: SuctionVerdict;
  /** On a full tank of fuel. */
  readonly fuelLastsS: number;
  /** Ratio to rated: as set, or as its governor finds it. */
  readonly speed: number;
  /** A governor that cannot hold its pressure here. */
  readonly shortOfHold: boolean;
  /** What the relief valve lets out, m3/s; null: it has none. */
  readonly reliefM3s: number | null;
}
export interface SourceCheck {
  readonly source: string;
  /** Null: open water. */
  readonly usableM3: number | null;
  /** Null: it does not run out, or nothing is drawn. */
  readonly lastsS: number | null;
}
export interface LineCheck {
  readonly line: string;
  readonly flowM3s: number;
  readonly volumeM3: number;
  readonly fillS: number | null;
  /** Highest pressure in any of its hoses if its full flow is stopped dead, as when a fast filling meets the heads. */
  readonly shockPeakPa: number;
  /**
   * Share of its running flow at which it can be filled without breaking a hose or throwing off a light head; 1: any.
   */
  readonly safeFillShare: number;
}
export interface GateCheck {
  readonly gate: string;
  /** False: the model has no answer with this gate shut, and says nothing. */
  readonly converged: boolean;
  /** The head nearest to its limit once the gate is shut, of those that still have water. */
  readonly worstHead: string | null;
  readonly pressurePa: number;
  readonly standing: HeadStanding;
}
export interface Preflight {
  readonly fault: Fault | null;
  readonly heads: readonly HeadCheck[];
  readonly pumps: readonly PumpCheck[];
  readonly sources: readonly SourceCheck[];
  readonly lines: readonly LineCheck[];
  readonly gates: readonly GateCheck[];
  readonly layVolumeM3: number;
  readonly layFillS: number | null;
}

export function preflight(layout: Layout, waterC: number = WATER_C): Preflight {
  const net = buildNetwork(layout);
  const running = solveRigged(net, asRigged(net));
  const { solution } = running;
  const volume = layVolume(layout);
  const inflowM3s = solution.pumpFlowM3s.reduce((sum, q) => sum + q, 0);
  return {
    fault: solution.fault,
    heads: layout.heads.map((head, i) => checkHead(net, solution, head, i)),
    pumps: checkPumps(net, running, waterC),
    sources: checkSources(layout, solution),
    lines: checkLines(net, solution, volume.lineM3, inflowM3s),
    gates: checkGates(net, solution),
    layVolumeM3: volume.wholeM3,
    layFillS: fillTimeS(volume.wholeM3, inflowM3s),
  };
}

function checkHead(net: Network, solution: Solution, head: Head, i: number): HeadCheck {
  const pressurePa = solution.pressurePa[net.nodeOfHead.get(head.id)!]!;
  const flowM3s = solution.headFlowM3s[i]!;
  const rateMps = applicationRateMps(flowM3s, wettedAreaM2(head.kit.throwM, head.arcDeg));
  return { head: head.id, pressurePa, flowM3s, standing: standingOf(head, pressurePa), rateMps };
}

function checkPumps(net: Network, { solution, settings, speed }: GovernedState, waterC: number): PumpCheck[] {
  const { layout } = net;
  const firstRelief = layout.heads.length;
  const withRelief = layout.pumps.filter(({ relief }) => relief !== null);
  return layout.pumps.map((pump, i) => {
    const suctionPa = solution.suctionPa[i]!;
    const availableM = npshAvailableM(suctionPa, layout.altitudeM, waterC);
    return {
      pump: pump.id,
      flowM3s: solution.pumpFlowM3s[i]!,
      dischargePa: solution.pressurePa[net.nodeOfPlace.get(pump.outlet)!]!,
      suctionPa,
      npshAvailableM: availableM,
      suction: judgeSuction(availableM, pump.kit.npshRequiredM),
      fuelLastsS: pump.fuelCapacityM3 / pump.kit.fuelUseM3s,
      speed: speed[i]!,
      shortOfHold: pump.holdsPa !== null && Number.isNaN(settings.dischargePa[i]!),
      reliefM3s: pump.relief === null ? null : solution.headFlowM3s[firstRelief + withRelief.indexOf(pump)]!,
    };
  });
}

function checkSources(layout: Layout, solution: Solution): SourceCheck[] {
  return layout.sources.map((source) => {
    const drawn = layout.pumps.reduce(
      (sum, pump, i) => sum + (pump.source === source.id && pump.inlet === null ? solution.pumpFlowM3s[i]! : 0),
      0,
    );
    const full = volumeAtDepth(source.shape, sourceDepthM(source.shape));
    const usableM3 = full === null ? null : full * source.usable;
    return { source: source.id, usableM3, lastsS: usableM3 !== null && drawn > 0 ? usableM3 / drawn : null };
  });
}

function checkLines(
  net: Network,
  solution: Solution,
  volumes: ReadonlyMap<string, number>,
  inflowM3s: number,
): LineCheck[] {
  const { layout } = net;
  const pressureAt = (place: string) => solution.pressurePa[net.nodeOfPlace.get(place)!]!;
  return layout.lines.map(({ id }) => {
    const heads = layout.heads.filter((head) => head.line === id);
    const flowM3s = layout.heads.reduce((sum, head, i) => sum + (head.line === id ? solution.headFlowM3s[i]! : 0), 0);
    const lightPa = Math.min(Infinity, ...heads.filter((head) => head.kit.light).map((head) => head.kit.survivesPa));
    let shockPeakPa = 0;
    let safeFillShare = 1;
    layout.hoses.forEach((hose, i) => {
      if (hose.line !== id) return;
      const speed = velocityMps(Math.abs(solution.pipeFlowM3s[i]!), hose.kit.boreM);
      const runningPa = Math.max(pressureAt(hose.from), pressureAt(hose.to));
      const risePa = shockPa(hose.kit.waveSpeedMps, speed);
      const roomPa = Math.max(Math.min(hose.kit.burstPa, lightPa) - runningPa, 0);
      shockPeakPa = Math.max(shockPeakPa, runningPa + risePa);
      if (risePa > roomPa) safeFillShare = Math.min(safeFillShare, roomPa / risePa);
    });
    const volumeM3 = volumes.get(id)!;
    return { line: id, flowM3s, volumeM3, fillS: fillTimeS(volumeM3, inflowM3s), shockPeakPa, safeFillShare };
  });
}

function checkGates(net: Network, running: Solution): GateCheck[] {
  const { layout } = net;
  return layout.gates.map((gate, i) => {
    const shut = copySettings(asRigged(net));
    shut.gateOpening[i] = 0;
    const { solution } = solveRigged(net, shut, running);
    let worst: GateCheck = {
      gate: gate.id,
      converged: solution.converged,
      worstHead: null,
      pressurePa: 0,
      standing: 'no-water',
    };
    let most = solution.converged ? -Infinity : Infinity;
    layout.heads.forEach((head) => {
      const node = net.nodeOfHead.get(head.id)!;
      const pressurePa = solution.pressurePa[node]!;
      const strain = pressurePa / head.kit.survivesPa;
      if (solution.wet[node] === 0 || strain <= most) return;
      most = strain;
      worst = {
        gate: gate.id,
        converged: true,
        worstHead: head.id,
        pressurePa,
        standing: standingOf(head, pressurePa),
      };
    });
    return worst;
  });
}
