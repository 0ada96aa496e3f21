/** Normal life in the plant: wind, tenders in turns, a stop and a start; and the tender that comes late. */
import { describe, expect, it } from 'vitest';
import { Simulation } from '../../simulator/simulation.ts';
import type { Deed } from '../../simulator/events.ts';
import { siteLayout, START_MS } from '../support/drive.ts';

const layout = siteLayout('larch-cove');

function begin(): Simulation {
  return new Simulation(layout, {
    seed: 37,
    startMs: START_MS,
    scenario: { name: 'test', begins: 'running', throttle: 0.95, timeline: [] },
  });
}

function pass(simulation: Simulation, seconds: number, each: () => void = () => undefined): Simulation {
  for (let second = 0; second < seconds; second += 1) {
    simulation.second();
    each();
  }
  return simulation;
}

function start(simulation: Simulation, what: string, size?: number): void {
  const deed: Deed = { do: 'start', what, ...(size === undefined ? {} : { size }) };
  expect(simulation.carry(deed)).toBeNull();
}

const sd = (values: readonly number[]): number => {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
};
const shareOf = (simulation: Simulation): number => simulation.plant.levelM(0) / 0.7874;

describe('wind', () => {
  it('changes no pressure, flow or level of the plant, and is no fault', () => {
    const [windy, calm] = [begin(), begin()];
    start(windy, 'wind', 15);
    pass(windy, 60);
    pass(calm, 60);
    expect([...windy.plant.pressurePa]).toEqual([...calm.plant.pressurePa]);
    expect(windy.plant.volumeM3[0]).toBe(calm.plant.volumeM3[0]);
    expect(windy.truth).toEqual([]);
  });

  it("makes waves that the tank's level sensor feels, by their formula, and goes down again", () => {
    const errors = (simulation: Simulation): number[] => {
      const out: number[] = [];
      for (let second = 0; second < 600; second += 1) {
        const said = simulation.second().find(({ sensor }) => sensor.quantity === 'level');
        if (said) out.push(said.value - simulation.plant.levelM(0));
      }
      return out;
    };
    const simulation = begin();
    const { noiseSd } = layout.sensors.find(({ quantity }) => quantity === 'level')!;
    const calm = sd(errors(simulation));
    start(simulation, 'wind', 20);
    const windy = sd(errors(simulation));
    // Fetch of 23.8 m2: 4.88 m. Shore Protection Manual 1984: 0.0016 x 20 x sqrt(4.88 / 9.81) = 2.26 cm, a quarter of
    // it 5.6 mm.
    expect(windy).toBeGreaterThan(0.8 * Math.hypot(0.0056, noiseSd));
    expect(windy).toBeLessThan(1.25 * Math.hypot(0.0056, noiseSd));
    expect(calm).toBeLessThan(1.3 * noiseSd);
    expect(simulation.carry({ do: 'repair', what: 'wind' })).toBeNull();
    expect(sd(errors(simulation))).toBeLessThan(1.3 * noiseSd);
  });

  it('more than the scale allows is refused', () => {
    expect(begin().carry({ do: 'start', what: 'wind', size: 90 })).toMatch(/40 is the most.*m\/s/);
  });
});

describe('tenders', () => {
  it('come at 40 % and dump until 90 %, again and again, whatever the pump draws', () => {
    const simulation = begin();
    start(simulation, 'shuttle', 1_500);
    const shares: number[] = [];
    let arrivals = 0;
    let before = 0;
    pass(simulation, 5_400, () => {
      const gain = simulation.plant.conditions.sourceGainM3s[0]!;
      if (gain > 0 && before === 0) arrivals += 1;
      before = gain;
      shares.push(shareOf(simulation));
    });
    expect(arrivals).toBeGreaterThanOrEqual(2);
    expect(Math.min(...shares)).toBeGreaterThan(0.39);
    expect(Math.min(...shares)).toBeLessThan(0.41);
    expect(Math.max(...shares)).toBeLessThan(0.91);
    expect(simulation.truth).toEqual([]);
  });

  it('that are held up leave the tank lower than planned until they get through', () => {
    const simulation = begin();
    start(simulation, 'shuttle', 1_500);
    pass(simulation, 600);
    start(simulation, 'refill-late', 25);
    expect(simulation.truth).toMatchObject([{ what: 'refill-late', at: 'tank', size: 25 }]);
    pass(simulation, 1_490);
    const late = shareOf(simulation);
    expect(late).toBeLessThan(0.35);
    pass(simulation, 300);
    expect(shareOf(simulation)).toBeGreaterThan(late);
    expect(simulation.truth).toEqual([]);
  });
});

describe('a start after a stop', () => {
  it('finds the lay full, and is up within seconds', () => {
    const simulation = pass(begin(), 20);
    const before = simulation.plant.pumpFlowM3s[0]!;
    start(simulation, 'throttle', 0);
    pass(simulation, 120);
    expect(simulation.plant.pumpFlowM3s[0]!).toBeLessThan(0.05 * before);
    expect(Math.min(...simulation.plant.filled)).toBe(1);
    start(simulation, 'throttle', 0.95);
    pass(simulation, 20);
    expect(simulation.plant.pumpFlowM3s[0]! / before).toBeCloseTo(1, 1);
  });
});
