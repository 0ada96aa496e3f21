/**
 * The soonest that anybody could have seen a fault: by hand, against printed run lengths, against the plant.
 *
 * Lucas and Crosier, Technometrics 24 (1982) 199, table 1: cumulative sums with k = 0.5, h = 4, two-sided.
 */
import { describe, expect, it } from 'vitest';
import { Plant } from '../../simulator/plant.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { scenarioNamed } from '../support/drive.ts';
import { valueOf } from './bound.ts';
import { scoreLay } from './lays.ts';
import { rowsOf } from './figures.ts';
import { tableText } from './report.ts';
import { evenOddsS, normalDeviate, QUANTITIES, soonestFrom } from './soonest.ts';
import { TUNING_FROM, type Outcome } from './trial.ts';

const WATCH_S = 300;

/** Sums of squares of a shift that is `shiftAt` of its noise in each second. */
function summed(shiftAt: (second: number) => number): number[] {
  let sum = 0;
  return Array.from({ length: WATCH_S }, (_, index) => (sum += shiftAt(index + 1) ** 2));
}

describe('the second of even odds', () => {
  it('rests on the deviates of the normal table', () => {
    // Any table of the normal distribution, upper tail.
    for (const [chance, deviate] of [
      [0.5, 0],
      [0.05, 1.6449],
      [0.001, 3.0902],
      [1e-6, 4.7534],
    ] as const)
      expect(Math.abs(normalDeviate(chance) - deviate)).toBeLessThan(4.5e-4);
  });

  it('is the nineteenth of a step of one standard deviation at one false alarm in 30 days', () => {
    // By hand: the deviate passed with chance 19 / 2,592,000 is 4.334, its square 18.8; that of 18 / 2,592,000 is
    // 4.346, its square 18.9.
    expect(evenOddsS(summed(() => 1))).toBe(19);
    // Half the step, near four times the readings: 4.052 squared is 16.42, 65 / 4 is 16.25 and 66 / 4 is 16.5.
    expect(evenOddsS(summed(() => 0.5))).toBe(66);
  });

  it('comes later when the shift grows, and never when it is too small', () => {
    expect(evenOddsS(summed((second) => Math.min(1, second / 60)))).toBeGreaterThan(40);
    expect(evenOddsS(summed(() => 0.01))).toBeNull();
  });

  it.each([
    [0.25, 74.2],
    [0.5, 26.6],
    [0.75, 13.3],
    [1, 8.38],
    [1.5, 4.75],
  ])(
    'is before the printed run length of cumulative sums with a false alarm in 168, at a shift of %f: %f',
    (shift, printed) => {
      expect(
        evenOddsS(
          summed(() => shift),
          168,
        )!,
      ).toBeLessThan(printed);
    },
  );
});

describe('the soonest in the plant', () => {
  const layout = scoreLay('two-lines-8', 'fast');
  const seed = TUNING_FROM + 77;
  const plantOf = (own = layout): Plant => {
    const plant = new Plant(own, seed);
    plant.prime(0.95);
    return plant;
  };
  const soonest = soonestFrom(plantOf(), seed);
  const pump = layout.pumps[0]!.id;
  const end = layout.sensors.find(({ line, quantity }) => line !== null && quantity === 'pressure')!;

  it('of a drift of 30 kPa a minute on a sensor of 3 kPa noise is 13 s', () => {
    expect(end.noiseSd).toBe(3_000);
    // By hand: k / 6 standard deviations in second k; squares add to 22.8 in 13 s and 18.1 in 12 s; 4.417 squared is
    // 19.5.
    expect(soonest([{ what: 'sensor-drift', at: end.id, size: 30 }], [], WATCH_S)).toBe(13);
  });

  it('of a tank leak of 60 L/min, from the level alone, is 65 s', () => {
    const level = layout.sensors.find(({ quantity }) => quantity === 'level')!;
    expect([level.noiseSd, layout.sources[0]!.shape]).toMatchObject([0.003, { lengthM: 5, widthM: 5 }]);
    // By hand: 0.04 mm a second, k / 75 standard deviations in second k; squares add to 16.65 in 65 s and 15.90 in 64
    // s; 4.055 squared is 16.44.
    expect(
      soonestFrom(plantOf({ ...layout, sensors: [level] }), seed)(
        [{ what: 'tank-leak', at: layout.sources[0]!.id, size: 60 }],
        [],
        WATCH_S,
      ),
    ).toBe(65);
  });

  it('takes every reading from where the sensor of the plant takes it', () => {
    const simulation = new Simulation(layout, {
      seed,
      startMs: 0,
      scenario: { ...scenarioNamed('running'), timeline: [] },
    });
    // The fuel gauge speaks every ten seconds.
    const said = Array.from({ length: 10 }, () => simulation.second())
      .flat()
      .filter(({ sensor }) => QUANTITIES.includes(sensor.quantity));
    expect(new Set(said.map(({ sensor }) => sensor.quantity))).toEqual(new Set(QUANTITIES));
    for (const { sensor, value } of said) {
      // Noise, standing offset, and a thousandth for the pump's ripple.
      const spread = 5 * Math.hypot(sensor.noiseSd, sensor.offsetSd) + 1e-3 * Math.abs(value);
      expect(Math.abs(value - valueOf(layout, simulation.plant, sensor)), sensor.id).toBeLessThan(spread);
      expect(spread, sensor.id).toBeLessThan(0.25 * (sensor.max - sensor.min));
    }
  });

  it('is at once for a burst, later for what grows, and never for what moves no reading', () => {
    expect(soonest([{ what: 'hose-burst', at: layout.hoses[0]!.id }], [], WATCH_S)).toBe(1);
    expect(soonest([{ what: 'strainer-clogging', at: pump, size: 30 }], [], WATCH_S)).toBeGreaterThan(15);
    expect(soonest([{ what: 'head-stalled', at: layout.heads[0]!.id }], [], WATCH_S)).toBeNull();
    expect(soonest([{ what: 'leak', at: layout.hoses[0]!.id, size: 1e-6 }], [], WATCH_S)).toBeNull();
  });

  it('comes later with noisier sensors, and with sensors that speak seldom', () => {
    const fault = [{ what: 'strainer-clogging', at: pump, size: 30 }];
    const own = soonest(fault, [], WATCH_S)!;
    const noisy = { ...layout, sensors: layout.sensors.map((sensor) => ({ ...sensor, noiseSd: 5 * sensor.noiseSd })) };
    const seldom = { ...layout, sensors: layout.sensors.map((sensor) => ({ ...sensor, intervalS: 20 })) };
    for (const worse of [noisy, seldom])
      expect(soonestFrom(plantOf(worse), seed)(fault, [], WATCH_S)!).toBeGreaterThan(own);
  });

  it('of a stub that ice shuts and does not press on is the next move of the throttle', () => {
    const iced = [{ what: 'sensor-iced', at: end.id, size: 0 }];
    expect(soonest(iced, [], WATCH_S)).toBeNull();
    const moved = soonest(
      iced,
      [{ afterS: 100, deed: { do: 'start', what: 'throttle', at: pump, size: 0.85 } }],
      WATCH_S,
    )!;
    expect(moved).toBeGreaterThan(100);
    expect(moved).toBeLessThan(110);
  });

  it('goes on from the state that the plant was in, and leaves it alone', () => {
    const plant = plantOf();
    const { volumeM3, pressurePa } = structuredClone({ volumeM3: plant.volumeM3, pressurePa: plant.pressurePa });
    plant.conditions.gateOpening[0] = 0;
    const shut = soonestFrom(plant, seed);
    expect(shut([{ what: 'gate-shut', at: layout.gates[0]!.id }], [], 30)).toBeNull();
    expect(soonest([{ what: 'gate-shut', at: layout.gates[0]!.id }], [], 30)).not.toBeNull();
    expect([plant.volumeM3, plant.pressurePa]).toEqual([volumeM3, pressurePa]);
  });
});

describe('a delay beyond its aim', () => {
  const marked = (namedS: number, boundS: number | null): string => {
    const plan = {
      seed: 1,
      className: 'hose burst',
      site: 'x',
      cadence: 'fast',
      calibrated: true,
      quietS: null,
    } as const;
    const outcome = {
      plan,
      namedS,
      boundS,
      alarmS: namedS,
      inSet: null,
      sizeError: null,
      lineRight: true,
      causeRight: true,
      kinRight: true,
      extraAlarms: [],
    } as Partial<Outcome> as Outcome;
    return tableText('', rowsOf([outcome]));
  };

  it('is marked as beyond the sensors only where its bound is above the aim as well', () => {
    expect(marked(9, 6)).toContain('9!(5)');
    expect(marked(9, 5)).toContain('9*(5)');
    expect(marked(9, null)).toContain('9*(5)');
    expect(marked(4, 6)).toContain('4 (5)');
  });
});
