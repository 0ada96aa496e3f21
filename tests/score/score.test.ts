/** The scorecard itself: a seed is one run and no other, its sets do not meet, its figures are what they say. */
import { describe, expect, it } from 'vitest';
import type { Alarm } from '../../config/wire/wire.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { scenarioNamed } from '../support/drive.ts';
import { boundOf } from './bound.ts';
import { CLASSES } from './classes.ts';
import { quantile, rowsOf, wholeOf, wilson } from './figures.ts';
import { LAY_NAMES, scoreLay } from './lays.ts';
import { HELD_OUT_FROM, planOf, runTrial, TUNING_FROM, type Outcome } from './trial.ts';
import { TrueWarnings } from './true-warnings.ts';

describe('a warning of air in the suction', () => {
  it('is true once the tank has run empty, and false before', () => {
    const layout = scoreLay('two-lines-8', 'fast');
    const simulation = new Simulation(layout, { seed: TUNING_FROM, startMs: 0, scenario: scenarioNamed('running') });
    const warnings = new TrueWarnings(layout, simulation);
    const said = { cause: 'suction-trouble', subject: layout.pumps[0]!.id } as Alarm['verdict'];
    expect(warnings.bearsOut(said)).toBe(false);
    simulation.plant.volumeM3[0] = 0;
    expect(warnings.bearsOut(said)).toBe(true);
  });
});

describe('a warning of no data', () => {
  it('is true of what was cut off a while ago, though nobody warned at that time, and of no other sensor', () => {
    const layout = scoreLay('two-lines-8', 'fast');
    const simulation = new Simulation(layout, { seed: TUNING_FROM, startMs: 0, scenario: scenarioNamed('running') });
    const warnings = new TrueWarnings(layout, simulation);
    const said = (subject: string): Alarm['verdict'] => ({ cause: 'sensor-silent', subject }) as Alarm['verdict'];
    const [cut, other] = layout.sensors.filter(({ mounting }) => mounting.kind === 'place').map(({ id }) => id) as [
      string,
      string,
    ];
    expect(simulation.carry({ do: 'start', what: 'sensor-battery', at: cut })).toBeNull();
    const seconds = (count: number, away = false): void => {
      for (let second = 0; second < count; second += 1) {
        simulation.second();
        warnings.second(away);
      }
    };
    // The swap takes two minutes and a half; the fast sensor of the same device has a battery of its own.
    seconds(170);
    expect([cut, `${cut}-pulse`, other].map((sensor) => warnings.bearsOut(said(sensor)))).toEqual([true, false, false]);
    // Nobody hears a mended road while the gateway is away.
    seconds(120, true);
    expect([cut, other].map((sensor) => warnings.bearsOut(said(sensor)))).toEqual([true, false]);
    seconds(120);
    expect(warnings.bearsOut(said(cut))).toBe(false);
  });
});

describe('a run of the scorecard', () => {
  it('is the same whenever its seed is played', () => {
    const plan = {
      ...planOf(TUNING_FROM),
      className: 'light head off',
      site: 'two-lines-8',
      cadence: 'fast',
      calibrated: true,
    } as const;
    const first = runTrial(plan);
    expect(first).not.toBeNull();
    expect(JSON.stringify(runTrial(plan))).toBe(JSON.stringify(first));
    expect(first!.truth[0]).toMatch(/^head-off l\d-head-\d/);
    expect(first!.boundS).toBe(1);
    expect(first!.timeline.join('\n')).toContain('TRUTH head-off');
  });

  it('takes every class, lay and condition in its turn, and never a held-out seed for tuning', () => {
    const plans = Array.from({ length: 600 }, (_, index) => planOf(HELD_OUT_FROM + index));
    expect(new Set(plans.map(({ className }) => className)).size).toBe(CLASSES.length);
    expect(new Set(plans.map(({ site }) => site)).size).toBe(LAY_NAMES.length);
    expect(new Set(plans.map(({ cadence, calibrated }) => `${cadence} ${calibrated}`)).size).toBe(3);
    expect(HELD_OUT_FROM - TUNING_FROM).toBeGreaterThan(1e6);
  });

  it('has lays of 8 to 120 heads with a pressure at every line end', () => {
    const lays = LAY_NAMES.map((name) => scoreLay(name, 'slow'));
    const heads = lays.map((lay) => lay.heads.length);
    expect(Math.min(...heads)).toBe(8);
    expect(Math.max(...heads)).toBe(120);
    for (const lay of lays) {
      for (const line of lay.lines)
        expect(lay.sensors.filter((sensor) => sensor.line === line.id && sensor.quantity === 'pressure')).toHaveLength(
          1,
        );
      expect(
        Math.max(
          ...lay.sensors
            .filter(({ line, quantity }) => line !== null && quantity === 'pressure')
            .map(({ intervalS }) => intervalS),
        ),
      ).toBeGreaterThanOrEqual(10);
    }
  });
});

function outcome(changes: Partial<Outcome>): Outcome {
  return {
    plan: { seed: 1, className: 'hose burst', site: 'x', cadence: 'fast', calibrated: true, quietS: null },
    truth: [],
    onsetS: 100,
    alarmS: 5,
    namedS: 5,
    boundS: 2,
    lineRight: true,
    causeRight: true,
    kinRight: true,
    stated: 0.9,
    settled: '',
    alternatives: [],
    setSize: 2,
    boundSize: 1,
    standsOut: 20,
    pumpUnheard: 0,
    inSet: true,
    sizeError: -0.1,
    falseAlarms: [],
    chores: [],
    extraAlarms: [],
    alarmsRaised: 1,
    baselineRefused: false,
    quietS: 86_400,
    watchedS: 3_600,
    timeline: [],
    ...changes,
  };
}

describe('the least set that the sensors allow', () => {
  const layout = scoreLay('two-lines-8', 'fast');

  it('is one for a head whose loss looks like no other, and never more than the heads of its line', () => {
    const bounds = layout.heads.map(({ id }) => boundOf(layout, 77, 0.95, { what: 'head-off', at: id })!.set!);
    for (const bound of bounds) expect(bound).toBeGreaterThanOrEqual(1);
    expect(Math.max(...bounds)).toBeLessThanOrEqual(4);
    expect(Math.min(...bounds)).toBe(1);
  });

  it('grows when the sensors are noisier', () => {
    const noisy = {
      ...layout,
      sensors: layout.sensors.map((sensor) => ({ ...sensor, noiseSd: 200 * sensor.noiseSd })),
    };
    const deed = { what: 'plug', at: layout.heads[0]!.id, size: 1 };
    const [loud, still] = [noisy, layout].map((one) => boundOf(one, 77, 0.95, deed)!);
    expect(loud!.set!).toBeGreaterThan(still!.set!);
    expect(loud!.standsOut).toBeLessThan(still!.standsOut);
  });
});

describe('its figures', () => {
  it('count a missed fault against recall and leave it out of the rest', () => {
    const [row] = rowsOf([
      outcome({}),
      outcome({
        alarmS: null,
        namedS: null,
        lineRight: false,
        causeRight: false,
        kinRight: false,
        stated: null,
        setSize: null,
        inSet: null,
        sizeError: null,
      }),
    ]);
    expect(row).toMatchObject({ runs: 2, recall: 0.5, line: 1, cause: 1, inSet: 1, setSize: 2, delayS: 5 });
    expect(row!.sizeError).toBeCloseTo(0.1);
  });

  it('score a stated probability by Brier, 0.9 said and half right: 0.41', () => {
    const whole = wholeOf([outcome({}), outcome({ causeRight: false })]);
    expect(whole.brier).toBeCloseTo((0.01 + 0.81) / 2, 10);
    expect(whole.reliability).toEqual([{ from: 0.9, to: 0.95, count: 2, stated: 0.9, right: 0.5 }]);
  });

  it('bound false alarms that never came by 3.0 over the time watched', () => {
    const whole = wholeOf([outcome({}), outcome({})]);
    expect(whole.siteDays).toBe(2);
    expect(whole.perSiteDayHigh).toBeCloseTo(2.9957 / 2, 3);
  });

  it("give Wilson's interval and order statistics", () => {
    // Wilson 1927, 8 of 10 at 95 %: 0.490 to 0.943.
    expect(wilson(0.8, 10)[0]).toBeCloseTo(0.49, 2);
    expect(wilson(0.8, 10)[1]).toBeCloseTo(0.943, 2);
    expect(quantile([5, 1, 3], 0.5)).toBe(3);
    expect(quantile([], 0.5)).toBeNull();
  });
});
