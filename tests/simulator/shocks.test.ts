/** Shocks: as high as Joukowsky says where a valve shuts, small where a throttle moves, and a burst of their own. */
import { describe, expect, it } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { START_MS } from '../support/drive.ts';
import { headKitOf, LayoutBuilder } from '../support/layout-builder.ts';

const layout: Layout = new LayoutBuilder()
  .tank('tank')
  .pump('pump', 'tank', 'p0')
  .hose('trunk', 'p0', 'p1', { lengthM: 30 })
  .gate('thief', 'p1', 'a0', { line: 'line-a' })
  .hose('a-hose', 'a0', 'a1', { lengthM: 30, line: 'line-a' })
  .head('h1', 'a1', { kit: headKitOf('impact-1') })
  .head('h2', 'a1', { kit: headKitOf('impact-1') })
  .head('h3', 'p1')
  .sensor(
    'pulse',
    'pulse',
    { kind: 'place', place: 'a1' },
    { line: 'line-a', device: 'end-a', record: 'pulse', intervalS: 60, noiseSd: 200, max: 2.5e6 },
  )
  .build();

function begin(begins: 'running' | 'dry' = 'running', throttle = 0.8): Simulation {
  const simulation = new Simulation(layout, {
    seed: 8,
    startMs: START_MS,
    scenario: { name: 'test', begins, throttle, timeline: [] },
  });
  for (let second = 0; second < 65; second += 1) simulation.second();
  return simulation;
}

/** Highest wave at the line's end over the seconds given. */
function highest(simulation: Simulation, seconds: number): number {
  const at = layout.places.findIndex(({ id }) => id === 'a1');
  let most = 0;
  for (let second = 0; second < seconds; second += 1) {
    simulation.second();
    most = Math.max(most, simulation.plant.shocks.shockPa[at]!);
  }
  return most;
}

describe('a shock', () => {
  it('is rho a dv, cut by the time that the change took, where a valve shuts in one step', () => {
    const simulation = begin();
    const velocity =
      (simulation.plant.headFlowM3s[0]! + simulation.plant.headFlowM3s[1]!) /
      ((Math.PI / 4) * layout.hoses[1]!.kit.boreM ** 2);
    expect(simulation.carry({ do: 'start', what: 'gate', at: 'thief', size: 0 })).toBeNull();
    const wave = highest(simulation, 3);
    const { waveSpeedMps } = layout.hoses[1]!.kit;
    // A step is 0.25 s, the wave needs 0.3 s there and back: all of it. The hose shrinks as it empties, so less than
    // all at once.
    expect(wave).toBeLessThan(1_000 * waveSpeedMps * velocity * 1.05);
    expect(wave).toBeGreaterThan(0.15 * 1_000 * waveSpeedMps * velocity);
  });

  it('is small while nothing moves and when the throttle is moved by hand', () => {
    const simulation = begin();
    expect(highest(simulation, 10)).toBeLessThan(500);
    expect(simulation.carry({ do: 'start', what: 'throttle', at: 'pump', size: 0.85 })).toBeNull();
    expect(highest(simulation, 10)).toBeLessThan(30_000);
  });

  it('comes with a dry lay that is filled at full throttle, harder than with a slow one', () => {
    const filled = (throttle: number): number => {
      const simulation = begin('dry');
      expect(simulation.carry({ do: 'start', what: 'throttle', at: 'pump', size: throttle })).toBeNull();
      return highest(simulation, 120);
    };
    expect(filled(1)).toBeGreaterThan(1.5 * filled(0.5));
  });

  it('makes a fast sensor send a burst that shows it', () => {
    const simulation = begin('dry');
    simulation.carry({ do: 'start', what: 'throttle', at: 'pump', size: 1 });
    const bursts: number[][] = [];
    for (let second = 0; second < 50; second += 1) {
      const own = simulation.second().filter(({ sensor }) => sensor.id === 'pulse');
      if (own.length > 0) bursts.push(own.map(({ value }) => value));
    }
    expect(bursts.every((burst) => burst.length === 128)).toBe(true);
    expect(Math.max(...bursts.map((burst) => Math.max(...burst) - Math.min(...burst)))).toBeGreaterThan(60_000);
  });
});
