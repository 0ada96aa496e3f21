/**
 * Laws that every steady state must keep, on random networks: mass at each node, energy along each link (and so round
 * each loop), more pressure never less flow, nothing lost to a shut gate but the flow, never NaN, never silent.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PA_PER_M, WATER_VISCOSITY_M2S } from '../../gateway/core/hydraulics/constants.ts';
import { boreArea, darcyFactor, frictionResistance, velocityPressure } from '../../gateway/core/hydraulics/friction.ts';
import { assembleNetwork } from '../../gateway/core/hydraulics/assemble.ts';
import type { Parts, PipePart } from '../../gateway/core/hydraulics/parts.ts';
import { copySettings, nothingWrong } from '../../gateway/core/hydraulics/settings.ts';
import type { Settings } from '../../gateway/core/hydraulics/settings.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';
import type { Solution } from '../../gateway/core/hydraulics/solution.ts';
import { SeededRandom, randomNetwork } from './random-network.ts';
import type { RandomNetwork } from './random-network.ts';

const anyNetwork = fc
  .tuple(fc.nat(), fc.integer({ min: 3, max: 120 }))
  .map(([seed, junctions]) => randomNetwork(seed, { junctions, friction: 'any' }));

/** One seed, so that a run can be repeated; the long form takes another each time. */
if (!process.env['WETDOWN_LONG']) fc.configureGlobal({ seed: 20_260 });

/** m3/s: a ten-thousandth of a litre a minute. */
const NO_FLOW = 1e-4 / 60_000;

describe('laws of a steady state', { timeout: 60_000 }, () => {
  it('keeps mass at every node', () => {
    fc.assert(
      fc.property(anyNetwork, (network) => {
        const solution = solved(network);
        const largest = Math.max(NO_FLOW, ...solution.pumpFlowM3s);
        for (const surplus of surpluses(network, solution))
          expect(Math.abs(surplus)).toBeLessThan(NO_FLOW + 1e-9 * largest);
      }),
    );
  });

  it('keeps energy along every hose, and so round every loop', () => {
    fc.assert(
      fc.property(anyNetwork, (network) => {
        const solution = solved(network);
        network.parts.pipes.forEach((pipe, i) => {
          if (solution.wet[pipe.to] === 0) return;
          const lossPa = hoseLoss(pipe, solution.pipeFlowM3s[i]!, network.settings.hoseFactor[i]!);
          const fallPa = headAt(network, solution, pipe.from) - headAt(network, solution, pipe.to);
          // Two pascals are a fifth of a millimetre of water: closure and the trickle laws stay within.
          expect(Math.abs(lossPa - fallPa), pipe.name).toBeLessThan(2 + 1e-6 * Math.abs(fallPa));
        });
      }),
    );
  });

  it('discharges what each nozzle discharges at its pressure, and draws nothing in', () => {
    fc.assert(
      fc.property(anyNetwork, (network) => {
        const { parts, settings } = network;
        const solution = solved(network);
        parts.heads.forEach((head, i) => {
          const off = settings.headOff[i] === 1;
          const pressurePa = solution.pressurePa[head.junction]!;
          const k = off ? head.openK : head.k * settings.headFactor[i]!;
          const expected = pressurePa > 0 ? k * pressurePa ** (off ? 0.5 : head.exponent) : 0;
          const flow = solution.headFlowM3s[i]!;
          expect(flow).toBeGreaterThanOrEqual(0);
          expect(Math.abs(flow - expected)).toBeLessThan(k + 1e-5 * expected);
        });
      }),
    );
  });

  it('never gives less water for more pressure', () => {
    fc.assert(
      fc.property(anyNetwork, fc.double({ min: 1.02, max: 1.5, noNaN: true }), (network, factor) => {
        const before = solved(network);
        const faster = copySettings(network.settings);
        faster.pumpSpeed.forEach((speed, i) => (faster.pumpSpeed[i] = speed * factor));
        const after = solve(network.net, faster, before);
        const total = (solution: Solution) => solution.headFlowM3s.reduce((sum, q) => sum + q, 0);
        expect(after.converged).toBe(true);
        expect(total(after)).toBeGreaterThanOrEqual(total(before) - NO_FLOW);
        // All pumps at once: no pressure anywhere falls.
        after.pressurePa.forEach((p, i) => expect(p).toBeGreaterThanOrEqual(before.pressurePa[i]! - 5));
      }),
    );
  });

  it('never raises a pressure when a leak opens', () => {
    fc.assert(
      fc.property(anyNetwork, fc.nat(), (network, pick) => {
        const before = solved(network);
        const leaking = copySettings(network.settings);
        leaking.leakK[pick % network.net.nodeCount]! += 1e-6;
        const after = solve(network.net, leaking, before);
        expect(after.converged).toBe(true);
        after.pressurePa.forEach((p, i) => expect(p).toBeLessThanOrEqual(before.pressurePa[i]! + 5));
      }),
    );
  });

  it('finds the same state from a cold start and from a neighbour', () => {
    fc.assert(
      fc.property(anyNetwork, fc.nat(), (network, seed) => {
        const neighbour = solve(network.net, disturbed(network, new SeededRandom(seed)));
        const cold = solved(network);
        const warm = solve(network.net, network.settings, neighbour);
        expect(warm.fault).toBeNull();
        warm.pressurePa.forEach((p, i) => expect(Math.abs(p - cold.pressurePa[i]!)).toBeLessThan(5));
      }),
    );
  });

  it('never gives NaN, and gives no pressure beyond shut gates and stopped pumps', () => {
    fc.assert(
      fc.property(anyNetwork, fc.nat(), (network, seed) => {
        const dead = copySettings(network.settings);
        const dice = new SeededRandom(seed);
        dead.gateOpening.forEach((_, i) => (dead.gateOpening[i] = dice.chance(0.6) ? 0 : 1));
        dead.pumpSpeed.forEach((_, i) => (dead.pumpSpeed[i] = dice.chance(0.5) ? 0 : 1));
        const solution = solve(network.net, dead);
        expect(solution.fault).toBeNull();
        for (const values of numbersOf(solution)) expect(values.every(Number.isFinite)).toBe(true);
        solution.pressurePa.forEach((p, i) => {
          if (solution.wet[i] === 0) expect(p).toBe(0);
        });
        network.parts.heads.forEach((head, i) => {
          if (solution.wet[head.junction] === 0) expect(solution.headFlowM3s[i]).toBe(0);
        });
      }),
    );
  });
});

/** WETDOWN_LONG=1 runs the long form. */
const COLD_STARTS = process.env['WETDOWN_LONG'] ? 10_000 : 2_000;

describe('cold starts', () => {
  it(`converges ${COLD_STARTS} times, also on what no crew would rig`, { timeout: 120_000 }, () => {
    for (let seed = 1; seed <= COLD_STARTS; seed++) {
      const dice = new SeededRandom(seed);
      const network = randomNetwork(seed, { junctions: dice.whole(2, 80), friction: 'any' });
      const solution = solve(network.net, disturbed(network, dice));
      expect(solution.fault, `network ${seed}`).toBeNull();
      for (const values of numbersOf(solution)) expect(values.every(Number.isFinite), `network ${seed}`).toBe(true);
    }
  });

  const senseless: [string, (s: Settings) => void, (parts: Parts) => string][] = [
    ['a hose', (s) => (s.hoseFactor[4] = NaN), (parts) => parts.pipes[4]!.name],
    ['a head', (s) => (s.headFactor[1] = NaN), (parts) => parts.heads[1]!.name],
    ['a leak', (s) => (s.leakK[3] = NaN), (parts) => parts.junctions[3]!.name],
    ['a pump', (s) => (s.pumpSpeed[0] = NaN), (parts) => parts.pumps[0]!.name],
    ['a source', (s) => (s.sourceLevelM[0] = NaN), (parts) => parts.pumps[0]!.name],
  ];
  it.each(senseless)(
    'names the element when the numbers of %s make no sense, and forgets them afterwards',
    (_, spoil, nameOf) => {
      const { net, parts, settings } = randomNetwork(3, { junctions: 12, friction: 'hazen-williams' });
      const spoilt = copySettings(settings);
      spoil(spoilt);
      const solution = solve(net, spoilt);
      expect(solution.converged).toBe(false);
      expect(solution.fault?.code).toBe('hydraulics/not-a-number');
      expect(solution.fault?.element).toBe(nameOf(parts));
      expect(solve(net, settings, solution).fault).toBeNull();
    },
  );

  it('names the place whose fixed demand no source reaches', () => {
    const net = assembleNetwork({
      junctions: [{ name: 'hydrant', elevationM: 0, demandM3s: 0.01 }],
      sources: [],
      pipes: [],
      gates: [],
      pumps: [],
      heads: [],
    });
    expect(solve(net, nothingWrong(net)).fault).toMatchObject({
      code: 'hydraulics/demand-cut-off',
      element: 'hydrant',
    });
  });
});

/** Stopped and crawling pumps, plugged and lost heads, gates barely open, hose folded almost shut. */
function disturbed({ settings }: RandomNetwork, dice: SeededRandom) {
  const s = copySettings(settings);
  s.pumpSpeed.forEach((_, i) => (s.pumpSpeed[i] = dice.oneOf([0, 1e-3, 0.05, 1, 1, 1, 2])));
  s.gateOpening.forEach((_, i) => (s.gateOpening[i] = dice.oneOf([0, 1e-4, 0.01, 0.5, 1, 1])));
  s.headFactor.forEach((_, i) => (s.headFactor[i] = dice.oneOf([0, 1e-4, 0.5, 1, 1, 1])));
  s.headOff.forEach((_, i) => (s.headOff[i] = dice.chance(0.1) ? 1 : 0));
  s.hoseFactor.forEach((_, i) => (s.hoseFactor[i] = dice.oneOf([0, 1, 1, 1, 1, 1e4])));
  s.leakK.forEach((_, i) => (s.leakK[i] = dice.chance(0.05) ? 10 ** dice.between(-12, -4) : 0));
  s.sourceLevelM.forEach((_, i) => (s.sourceLevelM[i] = dice.oneOf([0, 1, -8, 30])));
  s.dischargePa.forEach((_, i) => (s.dischargePa[i] = dice.chance(0.2) ? dice.oneOf([0, 1e5, 8e5, -2e4]) : NaN));
  return s;
}

function solved(network: RandomNetwork): Solution {
  const solution = solve(network.net, network.settings);
  expect(solution.fault).toBeNull();
  return solution;
}

function numbersOf(solution: Solution): Float64Array[] {
  const { pressurePa, pipeFlowM3s, gateFlowM3s, pumpFlowM3s, headFlowM3s, leakFlowM3s, suctionPa } = solution;
  return [pressurePa, pipeFlowM3s, gateFlowM3s, pumpFlowM3s, headFlowM3s, leakFlowM3s, suctionPa];
}

function surpluses({ parts }: RandomNetwork, solution: Solution): Float64Array {
  const surplus = new Float64Array(parts.junctions.length);
  const carry = (link: { from: number; to: number }, flow: number) => {
    if (link.from >= 0) surplus[link.from]! -= flow;
    if (link.to >= 0) surplus[link.to]! += flow;
  };
  parts.pipes.forEach((pipe, i) => carry(pipe, solution.pipeFlowM3s[i]!));
  parts.gates.forEach((gate, i) => carry(gate, solution.gateFlowM3s[i]!));
  parts.pumps.forEach((pump, i) => carry(pump, solution.pumpFlowM3s[i]!));
  parts.heads.forEach((head, i) => (surplus[head.junction]! -= solution.headFlowM3s[i]!));
  solution.leakFlowM3s.forEach((flow, i) => (surplus[i]! -= flow));
  return surplus;
}

function headAt({ parts, settings }: RandomNetwork, solution: Solution, end: number): number {
  if (end >= 0) return solution.pressurePa[end]! + PA_PER_M * parts.junctions[end]!.elevationM;
  return PA_PER_M * (parts.sources[-1 - end]!.elevationM + settings.sourceLevelM[-1 - end]!);
}

/** The plain formula, without the solver's way of writing it. */
function hoseLoss(pipe: PipePart, flow: number, factor: number): number {
  const q = Math.abs(flow);
  const { friction, boreM, lengthM } = pipe;
  const resistance = frictionResistance(friction, boreM, lengthM) * factor;
  const minor = pipe.lossFactor * velocityPressure(boreM) * q * q;
  if (friction.law !== 'darcy-weisbach') {
    return Math.sign(flow) * (resistance * q ** (friction.law === 'coefficient' ? 2 : 1.852) + minor);
  }
  const reynolds = ((q / boreArea(boreM)) * boreM) / WATER_VISCOSITY_M2S;
  const f = reynolds > 0 ? darcyFactor(reynolds, friction.roughnessM / boreM) : 0;
  return Math.sign(flow) * (resistance * f * q * q + minor);
}
