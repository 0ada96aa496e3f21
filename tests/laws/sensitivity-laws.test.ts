/** Exact derivatives against central differences, on random networks and for every kind of parameter. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { sensitivity } from '../../gateway/core/hydraulics/sensitivity.ts';
import type { Observable, Parameter } from '../../gateway/core/hydraulics/sensitivity.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { asRigged, copySettings } from '../../gateway/core/hydraulics/settings.ts';
import type { Settings } from '../../gateway/core/hydraulics/settings.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';
import type { Solution } from '../../gateway/core/hydraulics/solution.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';
import { SeededRandom, randomNetwork } from './random-network.ts';
import type { RandomNetwork } from './random-network.ts';

/** One seed, so that a run can be repeated; the long form takes another each time. */
if (!process.env['WETDOWN_LONG']) fc.configureGlobal({ seed: 20_260 });

const anyNetwork = fc
  .tuple(fc.nat(), fc.integer({ min: 3, max: 60 }), fc.boolean())
  .map(([seed, junctions, imposed]) => {
    const network = randomNetwork(seed, { junctions, friction: 'any' });
    if (imposed) network.settings.dischargePa[0] = 6e5;
    return { network, dice: new SeededRandom(seed) };
  });

describe('derivatives', { timeout: 60_000 }, () => {
  it('agree with central differences', () => {
    let checked = 0;
    fc.assert(
      fc.property(anyNetwork, ({ network, dice }) => {
        const solution = polished(network, network.settings, solve(network.net, network.settings));
        const observables = observablesOf(network, dice);
        const parameters = parametersOf(network, dice);
        const table = sensitivity(network.net, network.settings, solution, observables, parameters);
        parameters.forEach((parameter, p) => {
          const step = stepOf(network, parameter);
          const up = moved(network, solution, parameter, step);
          const down = moved(network, solution, parameter, -step);
          if (bends(network, parameter, [down, solution, up])) return;
          observables.forEach((observable, o) => {
            const exact = table[o * parameters.length + p]!;
            const change = read(up, observable) - read(down, observable);
            // Rounding of solved pressures and flows.
            const noise = observable.kind === 'pressure' || observable.kind === 'suction' ? 0.1 : 1e-9;
            expect(Math.abs(change - 2 * step * exact), `${parameter.kind} on ${observable.kind}`).toBeLessThan(
              noise + 1e-3 * Math.abs(change),
            );
            checked++;
          });
        });
      }),
      { numRuns: 200 },
    );
    expect(checked).toBeGreaterThan(5_000);
  });

  it('agree for the suction of a booster, which draws from a hose', () => {
    const layout = new LayoutBuilder()
      .tank('tank')
      .place('p1', 20)
      .place('p2', 20)
      .pump('low', 'tank', 'p0')
      .hose('climb', 'p0', 'p1', { lengthM: 100 })
      .pump('booster', 'tank', 'p2', { inlet: 'p1', elevationM: 20 })
      .hose('on', 'p2', 'p3')
      .head('a', 'p3')
      .head('b', 'p1')
      .build();
    const net = buildNetwork(layout);
    const settings = asRigged(net);
    const suctionAt = (change: (s: Settings) => void): number => {
      const moved = copySettings(settings);
      change(moved);
      return solve(net, moved).suctionPa[1]!;
    };
    const parameters: Parameter[] = [
      { kind: 'head-factor', head: 1 },
      { kind: 'hose-factor', pipe: 0 },
      { kind: 'pump-speed', pump: 1 },
    ];
    const table = sensitivity(net, settings, solve(net, settings), [{ kind: 'suction', pump: 1 }], parameters);
    const step = 0.01;
    const changes = [
      suctionAt((s) => (s.headFactor[1]! += step)) - suctionAt((s) => (s.headFactor[1]! -= step)),
      suctionAt((s) => (s.hoseFactor[0]! += step)) - suctionAt((s) => (s.hoseFactor[0]! -= step)),
      suctionAt((s) => (s.pumpSpeed[1]! += step)) - suctionAt((s) => (s.pumpSpeed[1]! -= step)),
    ];
    changes.forEach((change, p) => expect(change / (2 * step * table[p]!), parameters[p]!.kind).toBeCloseTo(1, 2));
  });

  it('are the same alone as in a table, and symmetric: what a leak at j does to i, one at i does to j', () => {
    const { net, settings, parts } = randomNetwork(11, { junctions: 40, friction: 'any' });
    const solution = solve(net, settings);
    const observables: Observable[] = parts.junctions.map((_, node) => ({ kind: 'pressure', node }));
    const parameters: Parameter[] = parts.junctions.map((_, node) => ({ kind: 'leak', node }));
    const count = parameters.length;
    const whole = sensitivity(net, settings, solution, observables, parameters);
    const scale = Math.max(...whole.map(Math.abs));
    const alone = sensitivity(net, settings, solution, observables.slice(5, 6), parameters.slice(3, 4));
    expect(alone[0]! / scale).toBeCloseTo(whole[5 * count + 3]! / scale, 10);
    // A leak injects in proportion to the root of the pressure where it is.
    const root = (node: number) => Math.sqrt(Math.max(solution.pressurePa[node]!, 0));
    for (let i = 0; i < count; i++) {
      for (let j = 0; j < i; j++) {
        const there = whole[i * count + j]! * root(i);
        const back = whole[j * count + i]! * root(j);
        expect(Math.abs(there - back) / (scale * 1000)).toBeLessThan(1e-9);
      }
    }
  });
});

function observablesOf({ parts }: RandomNetwork, dice: SeededRandom): Observable[] {
  return [
    { kind: 'pressure', node: dice.whole(0, parts.junctions.length - 1) },
    { kind: 'pressure', node: dice.whole(0, parts.junctions.length - 1) },
    { kind: 'head-flow', head: dice.whole(0, parts.heads.length - 1) },
    ...parts.pumps.flatMap((_, pump): Observable[] => [
      { kind: 'pump-flow', pump },
      { kind: 'suction', pump },
    ]),
  ];
}

function parametersOf({ parts }: RandomNetwork, dice: SeededRandom): Parameter[] {
  const pump = dice.whole(0, parts.pumps.length - 1);
  const gates: Parameter[] = parts.gates.map((_, gate) => ({ kind: 'gate-loss', gate }));
  return [
    { kind: 'head-factor', head: dice.whole(0, parts.heads.length - 1) },
    { kind: 'hose-factor', pipe: dice.whole(0, parts.pipes.length - 1) },
    { kind: 'leak', node: dice.whole(0, parts.junctions.length - 1) },
    { kind: 'pump-speed', pump },
    { kind: 'discharge', pump },
    { kind: 'source-level', source: dice.whole(0, parts.sources.length - 1) },
    ...gates.slice(0, 2),
  ];
}

/** Big enough to stand out of rounding, small enough to stay straight. */
function stepOf({ settings }: RandomNetwork, parameter: Parameter): number {
  switch (parameter.kind) {
    case 'leak':
      return Math.max(settings.leakK[parameter.node]! * 1e-3, 0) || 1e-10;
    case 'source-level':
      return 0.02;
    case 'discharge':
      return 500;
    default:
      return 1e-3;
  }
}

function moved(network: RandomNetwork, start: Solution, parameter: Parameter, step: number): Solution {
  const s = copySettings(network.settings);
  move(s, parameter, step);
  return polished(network, s, start);
}

/** Every solve takes one Newton step at least, so that solving again squares the error away. */
function polished({ net }: RandomNetwork, settings: Settings, start: Solution): Solution {
  return solve(net, settings, solve(net, settings, solve(net, settings, start)));
}

function move(s: Settings, parameter: Parameter, step: number): void {
  switch (parameter.kind) {
    case 'head-factor':
      s.headFactor[parameter.head]! += step;
      break;
    case 'hose-factor':
      s.hoseFactor[parameter.pipe]! += step;
      break;
    case 'leak':
      // No leak can be less than none: there the difference is one-sided, doubled.
      if (s.leakK[parameter.node]! > 0) s.leakK[parameter.node]! += step;
      else s.leakK[parameter.node] = step > 0 ? 2 * step : 0;
      break;
    case 'gate-loss':
      // Loss goes with 1 / opening^2.
      s.gateOpening[parameter.gate]! /= Math.sqrt(1 + step);
      break;
    case 'pump-speed':
      s.pumpSpeed[parameter.pump]! += step;
      break;
    case 'discharge':
      s.dischargePa[parameter.pump]! += step;
      break;
    case 'source-level':
      s.sourceLevelM[parameter.source]! += step;
      break;
  }
}

/**
 * No straight line to compare with: a nozzle under 10 kPa, or a flow that changes by more than a few per cent. A leak
 * that is only then opened is what its derivative is about.
 */
function bends({ net, parts }: RandomNetwork, parameter: Parameter, states: readonly Solution[]): boolean {
  const nearAir = (pressurePa: number) => Math.abs(pressurePa) < 1e4;
  if (states.some((state) => parts.heads.some((head) => nearAir(state.pressurePa[head.junction]!)))) return true;
  const ownLeak = parameter.kind === 'leak' ? net.linkCount - net.nodeCount + parameter.node : -1;
  const flows = states.map((state) => state.flowM3s);
  return flows[0]!.some(
    (q, k) => k !== ownLeak && flows.some((other) => Math.abs(other[k]! - q) > 0.03 * Math.abs(q) + 1e-9),
  );
}

function read(solution: Solution, observable: Observable): number {
  switch (observable.kind) {
    case 'pressure':
      return solution.pressurePa[observable.node]!;
    case 'pump-flow':
      return solution.pumpFlowM3s[observable.pump]!;
    case 'suction':
      return solution.suctionPa[observable.pump]!;
    case 'head-flow':
      return solution.headFlowM3s[observable.head]!;
  }
}
