/**
 * Two hundred random networks, 5 to 1,000 junctions, solved here and by the EPANET engine: heads within 5 mm or
 * 0.01 %, flows within 0.1 % or 0.01 L/min. Both are asked for far more than that.
 */
import { beforeAll, describe, expect, it, vi } from 'vitest';
import type { Workspace } from 'epanet-js';
import type { Parts } from '../../gateway/core/hydraulics/parts.ts';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';
import type { Solution } from '../../gateway/core/hydraulics/solution.ts';
import { randomNetwork } from '../laws/random-network.ts';
import type { RandomNetwork } from '../laws/random-network.ts';
import { askEpanet, openEngine } from './epanet-twin.ts';
import type { Opinion } from './epanet-twin.ts';

const NETWORKS = 220;
const HEAD_M = 0.005;
const HEAD_SHARE = 1e-4;
const FLOW_M3S = 0.01 / 60_000;
const FLOW_SHARE = 1e-3;

let engine: Workspace;
beforeAll(async () => {
  // The engine's own warnings (negative pressures and the like) would bury the verdict.
  vi.spyOn(console, 'warn').mockReturnValue();
  engine = await openEngine();
});

describe('against the EPANET engine', { timeout: 120_000 }, () => {
  it('agrees on every network that the engine can balance, and it can balance at least 200', () => {
    let compared = 0;
    for (let seed = 1; seed <= NETWORKS; seed++) {
      const network = randomNetwork(seed, {
        junctions: sizeOf(seed),
        friction: seed % 3 ? 'hazen-williams' : 'darcy-weisbach',
      });
      const solution = solve(network.net, network.settings);
      expect(solution.fault, `network ${seed}`).toBeNull();
      const heldShut = pumpsHeldShut(network, solution);
      const opinion = askEpanet(engine, network.parts, network.settings, { ...solution, heldShut });
      if (!opinion.balanced) continue;
      compared++;
      expect(disagreements(network, solution, opinion), `network ${seed}`).toEqual([]);
      expect(wronglyShut(network, solution, opinion, heldShut), `network ${seed}`).toEqual([]);
    }
    expect(compared).toBeGreaterThanOrEqual(200);
  });
});

/** 5 to 1,000, evenly on a logarithmic scale. */
const sizeOf = (seed: number): number => Math.round(5 * 200 ** ((seed * 0.618) % 1));

function pumpsHeldShut({ net, parts, settings }: RandomNetwork, solution: Solution): boolean[] {
  return parts.pumps.map((pump, i) => {
    const shutOffM = shutOffHeadM({ net, parts, settings }, i);
    return solution.pumpFlowM3s[i] === 0 && headM(parts, solution, pump.to) > shutOffM + HEAD_M;
  });
}

function headM(parts: Parts, solution: Solution, junction: number): number {
  return solution.pressurePa[junction]! / PA_PER_M + parts.junctions[junction]!.elevationM;
}

function shutOffHeadM({ parts, settings }: RandomNetwork, pump: number): number {
  const { curve, from } = parts.pumps[pump]!;
  const source = -1 - from;
  const speed = settings.pumpSpeed[pump]!;
  const surfaceM = parts.sources[source]!.elevationM + settings.sourceLevelM[source]!;
  return surfaceM + (speed * speed * curve.risePa[0]!) / PA_PER_M;
}

function disagreements({ parts }: RandomNetwork, solution: Solution, opinion: Opinion): string[] {
  const found: string[] = [];
  const compare = (name: string, ours: number, theirs: number, tolerance: number) => {
    if (!(Math.abs(ours - theirs) <= tolerance)) found.push(`${name}: ${ours} here, ${theirs} there`);
  };
  const flow = (name: string, ours: number, theirs: number) =>
    compare(name, ours, theirs, Math.max(FLOW_M3S, FLOW_SHARE * Math.abs(theirs)));
  parts.junctions.forEach(({ name }, i) => {
    if (solution.wet[i] === 0) return;
    const theirs = opinion.headM[i]!;
    compare(name, headM(parts, solution, i), theirs, Math.max(HEAD_M, HEAD_SHARE * Math.abs(theirs)));
  });
  parts.pipes.forEach(({ name }, i) => flow(name, solution.pipeFlowM3s[i]!, opinion.pipeFlowM3s[i]!));
  parts.gates.forEach(({ name }, i) => flow(name, solution.gateFlowM3s[i]!, opinion.gateFlowM3s[i]!));
  parts.pumps.forEach(({ name }, i) => flow(name, solution.pumpFlowM3s[i]!, opinion.pumpFlowM3s[i]!));
  parts.heads.forEach(({ name, junction }, i) => {
    const out = solution.headFlowM3s[i]! + solution.leakFlowM3s[junction]!;
    if (solution.wet[junction] === 1) flow(name, out, opinion.outflowM3s[junction]!);
  });
  return found;
}

/** Outlets that let nothing out here though the engine finds pressure at them, pumps shut though they could push. */
function wronglyShut(
  network: RandomNetwork,
  solution: Solution,
  opinion: Opinion,
  heldShut: readonly boolean[],
): string[] {
  const { parts, settings } = network;
  const pressed = (junction: number) => opinion.headM[junction]! > parts.junctions[junction]!.elevationM + HEAD_M;
  const heads = parts.heads.filter(({ junction }, i) => solution.headFlowM3s[i] === 0 && pressed(junction));
  const leaks = parts.junctions.filter((_, i) => settings.leakK[i]! > 0 && solution.leakFlowM3s[i] === 0 && pressed(i));
  const pumps = parts.pumps.filter(
    (pump, i) => heldShut[i] && opinion.headM[pump.to]! < shutOffHeadM(network, i) - HEAD_M,
  );
  return [...heads, ...leaks, ...pumps].map(({ name }) => name);
}
