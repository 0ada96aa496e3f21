/**
 * Cumulative sums against the NIST/SEMATECH e-Handbook's worked example (section 6.3.2.3) and published average run
 * lengths: Lucas and Crosier, Technometrics 24 (1982) 199, table 1 (h = 4, two-sided); Brook and Evans, Biometrika 59
 * (1972) 539.
 */
import { describe, expect, it } from 'vitest';
import { Creep, LIMIT, SLACK } from '../../gateway/core/diagnosis/residuals/creep.ts';
import { Cusum } from '../../gateway/core/statistics/cusum.ts';
import { SeededRandom } from '../../simulator/seeded-random.ts';
import { Drive, siteLayout } from '../support/drive.ts';

/**
 * Values until a one-sided sum passes its limit, on average, while the mean is `shift` standard deviations off.
 * Siegmund's corrected approximation: within 1 % of published tables without a shift, too short by more than 5 % for
 * shifts from 2.5 standard deviations up.
 */
function averageRunLength(slack: number, limit: number, shift: number): number {
  const reach = limit + 1.166;
  const drift = shift - slack;
  if (Math.abs(drift) < 1e-9) return reach ** 2;
  return (Math.exp(-2 * drift * reach) + 2 * drift * reach - 1) / (2 * drift ** 2);
}

/** Of both sums together (their rates add up). */
function twoSidedRunLength(slack: number, limit: number, shift: number): number {
  return 1 / (1 / averageRunLength(slack, limit, shift) + 1 / averageRunLength(slack, limit, -shift));
}

describe('cumulative sums', () => {
  it('are those of the worked example of the NIST handbook, and pass its limit at the fourteenth value', () => {
    const values = [
      324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625, 325.15, 328.325,
      327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
    ];
    const up = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16, 19.04];
    const down = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0];
    const cusum = new Cusum(0.3175, 4.1959);
    const passed = values.map((value, index) => {
      const crept = cusum.take(value - 325);
      expect(Math.abs(cusum.sums.up - up[index]!)).toBeLessThan(0.006);
      expect(Math.abs(cusum.sums.down - down[index]!)).toBeLessThan(0.006);
      return crept;
    });
    expect(passed.findIndex((crept) => crept !== null) + 1).toBe(14);
    expect(passed[13]).toEqual({ way: 'up', length: 2 });
  });

  it.each([
    [0, 168],
    [0.25, 74.2],
    [0.5, 26.6],
    [0.75, 13.3],
    [1, 8.38],
    [1.5, 4.75],
  ])('run as long as Lucas and Crosier print, at a shift of %f: %f', (shift, printed) => {
    const dice = SeededRandom.named(9_930, `run ${shift}`);
    const runs = 6_000;
    let total = 0;
    for (let run = 0; run < runs; run += 1) {
      const cusum = new Cusum(0.5, 4);
      do total += 1;
      while (!cusum.take(shift + dice.normal()));
    }
    // Run lengths spread about as wide as they are long: four standard errors of their mean.
    expect(Math.abs(total / runs / printed - 1)).toBeLessThan(4 / Math.sqrt(runs) + 0.005);
    expect(Math.abs(twoSidedRunLength(0.5, 4, shift) / printed - 1)).toBeLessThan(0.02);
  });

  it('run as long as Brook and Evans print, one-sided with h = 3: 117.59', () => {
    expect(averageRunLength(0.5, 3, 0) / 117.59).toBeCloseTo(1, 1);
  });
});

describe('creep', () => {
  const MINUTE_MS = 60_000;
  const run = (minutes: number, value: (minute: number) => number, sd = 0): Creep => {
    const creep = new Creep([1]);
    const dice = SeededRandom.named(9_931, 'creep');
    for (let second = 0; second <= minutes * 60; second += 1)
      creep.file(0, second * 1_000, value(second / 60) + sd * dice.normal(), 400_000);
    return creep;
  };

  it('is stated to be told falsely once in a million means of a minute a side', () => {
    expect(averageRunLength(SLACK, LIMIT, 0)).toBeGreaterThan(0.97e6);
  });

  it('is not told of a gauge that only is noisy, for a day', () => {
    expect(run(1_440, () => 0, 3_000).creeping).toEqual([]);
  });

  it('of half a kilopascal a minute is told within the half hour, with its onset to ten minutes', () => {
    const creep = run(60, (minute) => -500 * Math.max(0, minute - 30), 1_000);
    const [told] = creep.creeping;
    expect(told).toMatchObject({ gauge: 0, way: 'down' });
    expect(Math.abs(told!.sinceMs / MINUTE_MS - 30)).toBeLessThan(10);
  });

  it('is forgotten when what is right is learned afresh', () => {
    const creep = run(60, (minute) => -500 * Math.max(0, minute - 30));
    creep.restart();
    expect(creep.creeping).toEqual([]);
  });
});

it('a line end that drifts slowly is told of before a cause is named, on the whole site', () => {
  const drive = new Drive(siteLayout('larch-cove'), { seed: 9_932 });
  drive.carry({ do: 'start', what: 'tender', at: 'tank', size: 420 });
  drive.run(130);
  expect(drive.baseline()).toBeNull();
  drive.run(700);
  const creeps = (): boolean => drive.picture.blind.some((words) => words.startsWith('end of line C creeps'));
  expect(creeps()).toBe(false);
  drive.carry({ do: 'start', what: 'sensor-drift', at: 'end-c-pressure', size: 0.2 });
  expect(drive.until(2_400, () => creeps() || drive.standing.length > 0)).not.toBeNull();
  expect(drive.standing).toEqual([]);
});
