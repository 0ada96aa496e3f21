/**
 * What the sensors say: the same for the same seed, with the noise, offset, range and faults that the layout gives
 * them.
 */
import { describe, expect, it } from 'vitest';
import type { Sample } from '../../simulator/sensors.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { scenarioNamed, siteLayout, START_MS } from '../support/drive.ts';

const layout = siteLayout('larch-cove');

function simulate(seed: number, scenario = 'running'): Simulation {
  return new Simulation(layout, { seed, startMs: START_MS, scenario: scenarioNamed(scenario) });
}

function take(simulation: Simulation, seconds: number): Sample[] {
  return Array.from({ length: seconds }, () => simulation.second()).flat();
}

function of(samples: readonly Sample[], sensor: string): number[] {
  return samples.filter((sample) => sample.sensor.id === sensor).map(({ value }) => value);
}

function spread(values: readonly number[]): { readonly mean: number; readonly sd: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return { mean, sd: Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1)) };
}

describe('the stream of a seed', () => {
  const written = (seed: number): string => {
    const simulation = simulate(seed, 'evening');
    const samples = take(simulation, 60);
    simulation.carry({ do: 'start', what: 'head-off', at: 'a-3' });
    return JSON.stringify(
      [...samples, ...take(simulation, 90)].map(({ sensor, value, timeMs }) => [sensor.id, value, timeMs]),
    );
  };

  it('is the same byte for byte when run again', () => {
    expect(written(4)).toBe(written(4));
  });

  it('is another with another seed', () => {
    expect(written(4)).not.toBe(written(5));
  });
});

describe('a healthy sensor', () => {
  const samples = take(simulate(9), 300);

  it.each(layout.sensors.filter(({ quantity }) => quantity === 'pressure' || quantity === 'flow').map(({ id }) => id))(
    '%s scatters as its layout says, and not twice as much',
    (id) => {
      const sensor = layout.sensors.find((candidate) => candidate.id === id)!;
      // The plant itself sinks by a hair while the tank falls: difference of neighbours, over root two.
      const values = of(samples, id);
      const { sd } = spread(values.slice(1).map((value, index) => value - values[index]!));
      expect(sd / Math.SQRT2).toBeGreaterThan(0.8 * sensor.noiseSd);
      expect(sd / Math.SQRT2).toBeLessThan(1.5 * sensor.noiseSd);
    },
  );

  it('has a standing offset drawn from its layout, another one for each seed', () => {
    const offsets = Array.from({ length: 24 }, (_, seed) => {
      const simulation = simulate(100 + seed);
      const values = of(take(simulation, 40), 'end-c-pressure');
      return spread(values).mean - simulation.plant.pressurePa[layout.places.findIndex(({ id }) => id === 'c3')]!;
    });
    const { sd } = spread(offsets);
    const { offsetSd } = layout.sensors.find(({ id }) => id === 'end-c-pressure')!;
    expect(sd).toBeGreaterThan(0.55 * offsetSd);
    expect(sd).toBeLessThan(1.6 * offsetSd);
  });

  it('speaks as often as agreed, with times that rise', () => {
    expect(of(samples, 'end-a-pressure').length).toBe(300);
    expect(of(samples, 'fuel').length).toBe(30);
    for (const sensor of layout.sensors) {
      const times = samples.filter((sample) => sample.sensor.id === sensor.id).map(({ timeMs }) => timeMs);
      expect(times.every((time, index) => index === 0 || time > times[index - 1]!)).toBe(true);
    }
  });

  it('never leaves its range', () => {
    const dry = take(simulate(9, 'evening'), 60);
    expect([...samples, ...dry].every(({ sensor, value }) => value >= sensor.min && value <= sensor.max)).toBe(true);
  });
});

describe('a sensor in trouble', () => {
  it('sends nothing when silent, while its neighbours go on', () => {
    const simulation = simulate(2);
    take(simulation, 5);
    simulation.carry({ do: 'start', what: 'sensor-silent', at: 'end-d-pressure' });
    const during = take(simulation, 20);
    expect(of(during, 'end-d-pressure')).toEqual([]);
    expect(of(during, 'end-e-pressure').length).toBe(20);
    simulation.carry({ do: 'repair', what: 'sensor-silent', at: 'end-d-pressure' });
    expect(of(take(simulation, 20), 'end-d-pressure').length).toBe(20);
  });

  it('repeats its last value when stuck', () => {
    const simulation = simulate(2);
    const last = of(take(simulation, 5), 'end-d-pressure').at(-1)!;
    simulation.carry({ do: 'start', what: 'sensor-stuck', at: 'end-d-pressure' });
    expect(new Set(of(take(simulation, 20), 'end-d-pressure'))).toEqual(new Set([last]));
  });

  it('drifts at its rate', () => {
    const simulation = simulate(2);
    const before = spread(of(take(simulation, 60), 'end-d-pressure')).mean;
    simulation.carry({ do: 'start', what: 'sensor-drift', at: 'end-d-pressure', size: 20 });
    take(simulation, 90);
    const after = spread(of(take(simulation, 60), 'end-d-pressure')).mean;
    // Two minutes from the start of the drift to the middle of the last window.
    expect(after - before).toBeGreaterThan(36_000);
    expect(after - before).toBeLessThan(44_000);
  });
});
