/** Each fault moves what the sensors would see in the direction that its cause must; its repair takes it back. */
import { describe, expect, it } from 'vitest';
import type { Deed } from '../../simulator/events.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { scenarioNamed, siteLayout, START_MS } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const SEEDS = [3, 21];
const SETTLE_S = 60;

interface Gauges {
  readonly flow: number;
  readonly discharge: number;
  readonly suction: number;
  readonly speed: number;
  readonly ends: Readonly<Record<string, number>>;
}

/** True values, without the sensors' own faults, so that small moves show. */
function gauges(simulation: Simulation): Gauges {
  const { plant } = simulation;
  const at = (place: string): number => plant.pressurePa[layout.places.findIndex(({ id }) => id === place)]!;
  return {
    flow: plant.pumpFlowM3s[0]!,
    discharge: at('p0'),
    suction: plant.suctionPa[0]!,
    speed: plant.speedRatio[0]!,
    ends: Object.fromEntries(['a', 'b', 'c', 'd', 'e', 'f', 'g'].map((line) => [line, at(`${line}3`)])),
  };
}

function begin(seed: number): Simulation {
  const simulation = new Simulation(layout, { seed, startMs: START_MS, scenario: scenarioNamed('running') });
  for (let second = 0; second < SETTLE_S; second += 1) simulation.second();
  return simulation;
}

function play(simulation: Simulation, deed: Deed, seconds = SETTLE_S): Gauges {
  expect(simulation.carry(deed)).toBeNull();
  for (let second = 0; second < seconds; second += 1) simulation.second();
  return gauges(simulation);
}

/** What must rise (+1) and fall (-1), by more than the share given. */
interface Case {
  readonly what: string;
  readonly at?: string;
  readonly flow: 1 | -1;
  readonly discharge: 1 | -1;
  /** Its own line's end, against the discharge's own share of change. */
  readonly end?: readonly [line: string, sign: 1 | -1];
  readonly restOfEnds?: 1 | -1;
}

const CASES: readonly Case[] = [
  { what: 'head-off', at: 'a-3', flow: 1, discharge: -1, end: ['a', -1], restOfEnds: -1 },
  { what: 'head-off', at: 'g-1', flow: 1, discharge: -1, end: ['g', -1], restOfEnds: -1 },
  { what: 'leak', at: 'c-hose-3', flow: 1, discharge: -1, end: ['c', -1], restOfEnds: -1 },
  { what: 'plug', at: 'e-4', flow: -1, discharge: 1, end: ['e', 1], restOfEnds: 1 },
  { what: 'restriction', at: 'leader', flow: -1, discharge: 1, end: ['d', -1], restOfEnds: -1 },
  { what: 'restriction', at: 'b-hose-2', flow: -1, discharge: 1, end: ['b', -1], restOfEnds: 1 },
  { what: 'gate-shut', at: 'thief-d', flow: -1, discharge: 1, end: ['d', -1], restOfEnds: 1 },
  { what: 'hose-burst', at: 'f-hose-3', flow: 1, discharge: -1, end: ['f', -1], restOfEnds: -1 },
  { what: 'pump-worn', flow: -1, discharge: -1, end: ['a', -1], restOfEnds: -1 },
];

describe.each(SEEDS)('with seed %d', (seed) => {
  it.each(CASES)(
    '$what at $at moves flow $flow, discharge $discharge, its end and the others as it must, and goes away',
    (one) => {
      const simulation = begin(seed);
      const before = gauges(simulation);
      const place = one.at === undefined ? {} : { at: one.at };
      const after = play(simulation, { do: 'start', what: one.what, ...place });
      expect(Math.sign(after.flow - before.flow)).toBe(one.flow);
      expect(Math.abs(after.flow / before.flow - 1)).toBeGreaterThan(0.003);
      expect(Math.sign(after.discharge - before.discharge)).toBe(one.discharge);
      const [line, sign] = one.end!;
      expect(Math.sign(after.ends[line]! - before.ends[line]!)).toBe(sign);
      expect(Math.abs(after.ends[line]! - before.ends[line]!)).toBeGreaterThan(3_000);
      const others = Object.keys(before.ends).filter((name) => name !== line);
      expect(others.map((name) => Math.sign(after.ends[name]! - before.ends[name]!))).toEqual(
        others.map(() => one.restOfEnds),
      );
      const healed = play(simulation, { do: 'repair', what: one.what, ...place });
      // The tank has fallen a little meanwhile.
      expect(Math.abs(healed.flow / before.flow - 1)).toBeLessThan(0.003);
      expect(Math.abs(healed.ends[line]! / before.ends[line]! - 1)).toBeLessThan(0.005);
      expect(simulation.truth).toEqual([]);
    },
  );

  it('marks the line of a lost head more than any other line', () => {
    const simulation = begin(seed);
    const before = gauges(simulation);
    const after = play(simulation, { do: 'start', what: 'head-off', at: 'd-4' });
    const falls = Object.keys(before.ends).map((line) => ({ line, fall: before.ends[line]! - after.ends[line]! }));
    expect(falls.sort((a, b) => b.fall - a.fall)[0]!.line).toBe('d');
  });

  it('lets a fading engine slide over a minute on the same system curve', () => {
    const simulation = begin(seed);
    const before = gauges(simulation);
    const middle = play(simulation, { do: 'start', what: 'pump-fade' }, 30);
    const after = play(simulation, { do: 'start', what: 'throttle', size: 0.97 }, 60);
    expect(middle.speed / before.speed).toBeGreaterThan(0.86);
    expect(middle.speed / before.speed).toBeLessThan(0.94);
    expect(after.speed / before.speed).toBeCloseTo(0.8, 2);
    expect(after.flow).toBeLessThan(middle.flow);
    expect(after.discharge).toBeLessThan(middle.discharge);
    // Mostly orifices: flow goes with the root of pressure over the mean rise of the nozzles, some 6 m.
    const constant = (of: Gauges): number => of.flow / Math.sqrt(of.discharge - 60_000);
    expect(Math.abs(constant(after) / constant(before) - 1)).toBeLessThan(0.03);
  });

  it('stops dead when the pump stops, and nears shut-off when every gate is shut', () => {
    const stopped = play(begin(seed), { do: 'start', what: 'pump-stop' });
    expect(stopped.flow).toBe(0);
    expect(stopped.speed).toBe(0);
    const simulation = begin(seed);
    const before = gauges(simulation);
    const shut = play(simulation, { do: 'start', what: 'dead-head' });
    expect(shut.flow).toBeLessThan(0.01 * before.flow);
    expect(shut.discharge).toBeGreaterThan(1.4 * before.discharge);
    expect(shut.discharge).toBeGreaterThan(0.9 * layout.pumps[0]!.kit.curveRisePa[0]! * 0.97 ** 2);
  });

  it('loses discharge and flow when the suction draws air, at the same speed', () => {
    const simulation = begin(seed);
    const before = gauges(simulation);
    const after = play(simulation, { do: 'start', what: 'suction-trouble', size: 0.3 });
    expect(after.speed).toBeCloseTo(before.speed, 3);
    expect(after.discharge).toBeLessThan(0.8 * before.discharge);
    expect(after.flow).toBeLessThan(0.9 * before.flow);
  });
});

describe('orders', () => {
  const simulation = begin(5);

  it('are refused in a sentence that says what would be right', () => {
    expect(simulation.carry({ do: 'start', what: 'head-of', at: 'a-3' })).toMatch(
      /no 'head-of'.*Did you mean head-off/,
    );
    expect(simulation.carry({ do: 'start', what: 'head-off', at: 'z-9' })).toMatch(/no head 'z-9'.*a-1, a-2/);
    expect(simulation.carry({ do: 'start', what: 'head-off' })).toMatch(/Say which head/);
    expect(simulation.carry({ do: 'start', what: 'plug', at: 'a-1', size: Number.NaN })).toMatch(/size is a number/);
    expect(simulation.carry({ do: 'start', what: 'constructor' })).toMatch(/no 'constructor'/);
    expect(simulation.truth).toEqual([]);
  });

  it('keep the truth: what, where, how large, since when', () => {
    expect(simulation.carry({ do: 'start', what: 'plug', at: 'b-4', size: 0.5 })).toBeNull();
    expect(simulation.truth).toEqual([{ what: 'plug', at: 'b-4', size: 0.5, sinceMs: simulation.nowMs }]);
  });

  it('count a throttle and a tender as normal life', () => {
    expect(simulation.carry({ do: 'start', what: 'throttle', size: 0.9 })).toBeNull();
    expect(simulation.carry({ do: 'start', what: 'tender', size: 1500 })).toBeNull();
    expect(simulation.truth.map(({ what }) => what)).toEqual(['plug']);
  });
});
