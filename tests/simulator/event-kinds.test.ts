/** Faults that grow, faults of sensors, and what stops by itself: each shows in the plant as it must, and goes away. */
import { describe, expect, it } from 'vitest';
import type { Deed } from '../../simulator/events.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { scenarioNamed, siteLayout, START_MS } from '../support/drive.ts';
import { LayoutBuilder, pumpKitOf } from '../support/layout-builder.ts';
import type { Layout } from '../../config/layout/layout.ts';

const larch = siteLayout('larch-cove');
const RUNNING = { name: 'test', begins: 'running', throttle: 0.97, timeline: [] } as const;

function begin(layout: Layout = larch, seed = 31): Simulation {
  return new Simulation(layout, {
    seed,
    startMs: START_MS,
    scenario: layout === larch ? scenarioNamed('running') : RUNNING,
  });
}

function pass(simulation: Simulation, seconds: number): Simulation {
  for (let second = 0; second < seconds; second += 1) simulation.second();
  return simulation;
}

function start(simulation: Simulation, what: string, at?: string, size?: number): void {
  const deed: Deed = {
    do: 'start',
    what,
    ...(at === undefined ? {} : { at }),
    ...(size === undefined ? {} : { size }),
  };
  expect(simulation.carry(deed)).toBeNull();
}

const pressureAt = (simulation: Simulation, place: string): number =>
  simulation.plant.pressurePa[simulation.plant.layout.places.findIndex(({ id }) => id === place)]!;
const headFlow = (simulation: Simulation, head: string): number =>
  simulation.plant.headFlowM3s[simulation.plant.layout.heads.findIndex(({ id }) => id === head)]!;

describe('heads', () => {
  it('one that slipped sprays on with the little more that its fall is worth', () => {
    const simulation = pass(begin(), 20);
    const before = headFlow(simulation, 'd-2');
    start(simulation, 'head-slipped', 'd-2', 3);
    const share = headFlow(pass(simulation, 20), 'd-2') / before;
    // 3 m of water on about 300 kPa at the nozzle: half of a tenth.
    expect(share).toBeGreaterThan(1.02);
    expect(share).toBeLessThan(1.12);
  });

  it('one that stalled flows as before, to the last digit of every gauge', () => {
    const [stalled, well] = [pass(begin(), 20), pass(begin(), 20)];
    start(stalled, 'head-stalled', 'a-1');
    pass(stalled, 30);
    pass(well, 30);
    expect([...stalled.plant.pressurePa]).toEqual([...well.plant.pressurePa]);
    expect(stalled.truth[0]).toMatchObject({ what: 'head-stalled', at: 'a-1' });
  });

  it('one behind a kinked feeder loses flow, more with a harder kink', () => {
    const flows = [1, 30, 300].map((size) => {
      const simulation = begin();
      start(simulation, 'feeder-kinked', 'e-5', size);
      return headFlow(pass(simulation, 20), 'e-5');
    });
    expect(flows[1]!).toBeLessThan(0.9 * flows[0]!);
    expect(flows[2]!).toBeLessThan(0.6 * flows[1]!);
  });

  it('are taken one at a time, the line rising with each', () => {
    const simulation = pass(begin(), 20);
    const before = pressureAt(simulation, 'c3');
    start(simulation, 'theft', 'line-c', 60);
    pass(simulation, 30);
    const gone = (): number => ['c-1', 'c-2', 'c-3', 'c-4'].filter((head) => headFlow(simulation, head) === 0).length;
    expect(gone()).toBe(1);
    const first = pressureAt(simulation, 'c3');
    expect(first).toBeGreaterThan(before + 3_000);
    pass(simulation, 60);
    expect(gone()).toBe(2);
    expect(pressureAt(simulation, 'c3')).toBeGreaterThan(first + 3_000);
    expect(simulation.carry({ do: 'repair', what: 'theft', at: 'line-c' })).toBeNull();
    pass(simulation, 20);
    expect(gone()).toBe(0);
  });
});

describe('what creeps', () => {
  it.each([
    {
      what: 'plug-creeping',
      at: 'c-1',
      size: 1,
      soonS: 60,
      lateS: 1_200,
      value: (simulation: Simulation) => -headFlow(simulation, 'c-1'),
    },
    {
      what: 'gasket-weep',
      at: 'trunk-3',
      size: 0.05,
      soonS: 60,
      lateS: 900,
      value: (simulation: Simulation) => simulation.plant.holeFlowM3s,
    },
    {
      what: 'hose-burned',
      at: 'f-hose-2',
      size: 0.15,
      soonS: 2,
      lateS: 12,
      value: (simulation: Simulation) => simulation.plant.holeFlowM3s,
    },
    {
      what: 'frozen',
      at: 'g-hose-2',
      size: 1,
      soonS: 60,
      lateS: 300,
      value: (simulation: Simulation) => -pressureAt(simulation, 'g3'),
    },
    {
      what: 'strainer-clogging',
      at: 'pump',
      size: 20,
      soonS: 60,
      lateS: 600,
      value: (simulation: Simulation) => -simulation.plant.suctionPa[0]!,
    },
    {
      what: 'suction-air-leak',
      at: 'pump',
      size: 0.3,
      soonS: 30,
      lateS: 240,
      value: (simulation: Simulation) => -pressureAt(simulation, 'p0'),
    },
  ])('$what shows little soon and much late, and is gone when repaired', ({ what, at, size, soonS, lateS, value }) => {
    const simulation = pass(begin(), 20);
    start(simulation, 'tender', 'tank', 520);
    const before = value(simulation);
    start(simulation, what, at, size);
    const soon = value(pass(simulation, soonS)) - before;
    const late = value(pass(simulation, lateS - soonS)) - before;
    expect(late).toBeGreaterThan(0);
    expect(soon).toBeLessThan(0.5 * late);
    expect(simulation.carry({ do: 'repair', what, at })).toBeNull();
    pass(simulation, 60);
    expect(Math.abs(value(simulation) - before)).toBeLessThan(0.1 * late);
  });
});

describe('the supply', () => {
  const pond = siteLayout('quarry-road');

  it('open water that falls takes the suction down by its weight, and at last the prime', () => {
    const simulation = pass(begin(pond), 20);
    const suction = simulation.plant.suctionPa[0]!;
    start(simulation, 'source-falling', 'pond', 1);
    pass(simulation, 60);
    expect(simulation.plant.suctionPa[0]! - suction).toBeLessThan(-8_000);
    expect(simulation.plant.suctionPa[0]! - suction).toBeGreaterThan(-11_000);
    pass(simulation, 600);
    expect(simulation.plant.pumpFlowM3s[0]!).toBeLessThan(1e-4);
  });

  it('a short can stops the engine, and a refuelling stop ends by itself', () => {
    const simulation = pass(begin(), 20);
    start(simulation, 'fuel-out', 'pump', 0.02);
    pass(simulation, 60);
    expect(simulation.plant.speedRatio[0]).toBe(0);
    expect(simulation.carry({ do: 'repair', what: 'fuel-out', at: 'pump' })).toBeNull();
    pass(simulation, 30);
    expect(simulation.plant.speedRatio[0]!).toBeGreaterThan(0.95);
    start(simulation, 'refuel', 'pump');
    expect(simulation.truth).toEqual([]);
    pass(simulation, 60);
    expect(simulation.plant.speedRatio[0]!).toBeLessThan(0.01);
    pass(simulation, 90);
    expect(simulation.plant.speedRatio[0]!).toBeGreaterThan(0.95);
  });

  it('a governed pump holds its pressure when a hose bursts, by turning faster', () => {
    const layout = (control: 'governor' | 'throttle'): Layout =>
      new LayoutBuilder()
        .tank('tank')
        .pump('pump', 'tank', 'p0', { kit: { ...pumpKitOf('portable-high-pressure'), control } })
        .chain(['p0', 'p1', 'p2'], { lengthM: 30 })
        .head('h1', 'p1')
        .head('h2', 'p2')
        .head('h3', 'p2')
        .build();
    const fall = (control: 'governor' | 'throttle'): { readonly pressure: number; readonly speed: number } => {
      const simulation = pass(begin(layout(control)), 60);
      const [pressure, speed] = [pressureAt(simulation, 'p0'), simulation.plant.speedRatio[0]!];
      start(simulation, 'leak', 'p1-p2', 0.12);
      pass(simulation, 60);
      return { pressure: pressureAt(simulation, 'p0') / pressure, speed: simulation.plant.speedRatio[0]! / speed };
    };
    expect(fall('governor').pressure).toBeCloseTo(1, 2);
    expect(fall('governor').speed).toBeGreaterThan(1.02);
    expect(fall('throttle').pressure).toBeLessThan(0.95);
    expect(fall('throttle').speed).toBeCloseTo(1, 3);
  });

  it('a stopped pump drains the lay back unless its valve holds, and a high tank siphons on', () => {
    const stopped = (tankM: number, stuck: boolean): Simulation => {
      const layout = new LayoutBuilder()
        .tank('tank', { elevationM: tankM })
        .pump('pump', 'tank', 'p0', { elevationM: tankM + 0.5 })
        .place('p0', tankM + 0.5)
        .place('p1', 8)
        .hose('trunk', 'p0', 'p1')
        .head('h1', 'p1', { riseM: 2 })
        .build();
      const simulation = pass(begin(layout), 20);
      if (stuck) start(simulation, 'check-valve-stuck', 'pump');
      start(simulation, 'pump-stop', 'pump');
      return pass(simulation, 40);
    };
    const held = stopped(0, false);
    const drained = stopped(0, true);
    expect(pressureAt(held, 'p0')).toBeGreaterThan(60_000);
    expect(pressureAt(drained, 'p0')).toBeLessThan(15_000);
    const siphon = stopped(20, false);
    expect(siphon.plant.pumpFlowM3s[0]!).toBeGreaterThan(5e-5);
    expect(siphon.plant.speedRatio[0]).toBe(0);
  });
});

describe('sensors', () => {
  const said = (simulation: Simulation, sensor: string): number | undefined =>
    simulation.second().find((sample) => sample.sensor.id === sensor)?.value;

  it('two that traded places tell of each other', () => {
    const simulation = pass(begin(), 20);
    const [a, b] = [said(simulation, 'end-a-pressure')!, said(simulation, 'end-b-pressure')!];
    start(simulation, 'sensor-swapped', 'end-a-pressure');
    expect(Math.abs(said(simulation, 'end-a-pressure')! - b)).toBeLessThan(25_000);
    expect(Math.abs(said(simulation, 'end-b-pressure')! - a)).toBeLessThan(25_000);
    expect(Math.abs(a - b)).toBeGreaterThan(30_000);
  });

  it('an iced stub keeps its pressure while the pump stops, and still has noise', () => {
    const simulation = pass(begin(), 20);
    const before = said(simulation, 'end-d-pressure')!;
    start(simulation, 'sensor-iced', 'end-d-pressure', 0);
    start(simulation, 'pump-stop', 'pump');
    pass(simulation, 60);
    const values = Array.from({ length: 10 }, () => said(simulation, 'end-d-pressure')!);
    for (const value of values) expect(Math.abs(value - before)).toBeLessThan(20_000);
    expect(new Set(values).size).toBeGreaterThan(5);
  });

  it('one whose battery is swapped is silent for a while and no longer', () => {
    const simulation = pass(begin(), 20);
    start(simulation, 'sensor-battery', 'end-d-pressure');
    expect(said(simulation, 'end-d-pressure')).toBeUndefined();
    pass(simulation, 160);
    expect(said(simulation, 'end-d-pressure')).toBeDefined();
  });
});
