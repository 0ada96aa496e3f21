/**
 * A repair that takes time: the plant comes back step by step, and is then as if nothing had been. Common practice, no
 * source.
 */
import { describe, expect, it } from 'vitest';
import { Simulation } from '../../simulator/simulation.ts';
import type { Deed } from '../../simulator/events.ts';
import { siteLayout, START_MS } from '../support/drive.ts';

const layout = siteLayout('larch-cove');

function begin(): Simulation {
  return new Simulation(layout, {
    seed: 38,
    startMs: START_MS,
    scenario: { name: 'test', begins: 'running', throttle: 0.95, timeline: [] },
  });
}

/** Flow of the pump at every second of a repair, after half a minute of the trouble. */
function flows(deed: Omit<Deed, 'do'>, overS: number, seconds: number): { simulation: Simulation; flows: number[] } {
  const simulation = begin();
  expect(simulation.carry({ do: 'start', ...deed })).toBeNull();
  for (let second = 0; second < 30; second += 1) simulation.second();
  expect(simulation.carry({ do: 'repair', what: deed.what, ...(deed.at ? { at: deed.at } : {}), overS })).toBeNull();
  const out = Array.from({ length: seconds }, () => {
    simulation.second();
    return simulation.plant.pumpFlowM3s[0]!;
  });
  return { simulation, flows: out };
}

describe('a repair over 20 s', () => {
  it.each([
    [{ what: 'head-off', at: 'b-2' }, -1],
    [{ what: 'hose-burst', at: 'b-hose-2' }, -1],
    [{ what: 'gate-shut', at: 'thief-c' }, 1],
    [{ what: 'restriction', at: 'trunk-2', size: 300 }, 1],
    [{ what: 'dead-head' }, 1],
  ] as const)('of %j (%i) brings the flow back bit by bit and leaves nothing behind', (deed, way) => {
    const slow = flows(deed, 20, 60);
    const steps = slow.flows.slice(1, 20).map((flow, index) => way * (flow - slow.flows[index]!));
    const whole = way * (slow.flows.at(-1)! - slow.flows[0]!);
    expect(whole).toBeGreaterThan(0);
    expect(Math.max(...steps), 'no second brings most of it').toBeLessThan(0.6 * whole);
    expect(slow.flows[9]! * way, 'half way it is on its way').toBeGreaterThan(slow.flows[0]! * way);
    const healthy = begin();
    for (let second = 0; second < 90; second += 1) healthy.second();
    expect([...Object.values(slow.simulation.plant.conditions)]).toEqual([...Object.values(healthy.plant.conditions)]);
    expect(slow.flows.at(-1)! / healthy.plant.pumpFlowM3s[0]!).toBeCloseTo(1, 3);
  });

  it('stays in the truth track until it is done', () => {
    const { simulation } = flows({ what: 'leak', at: 'c-hose-2' }, 20, 19);
    expect(simulation.truth.map(({ what }) => what)).toEqual(['leak']);
    simulation.second();
    expect(simulation.truth).toEqual([]);
  });

  it('is no way to start something', () => {
    expect(begin().carry({ do: 'start', what: 'leak', at: 'c-hose-2', overS: 5 })).toMatch(/Only a repair takes time/);
  });
});
