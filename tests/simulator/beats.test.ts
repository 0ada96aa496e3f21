/**
 * The beat in a burst: at the head's own rate, as strong as the scenario says, gone with a stall; none unless asked
 * for.
 */
import { describe, expect, it } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import { readSenml } from '../../gateway/ingest/payloads/senml.ts';
import { BURST_HZ, BURST_SAMPLES } from '../../simulator/beats.ts';
import type { Sample } from '../../simulator/sensors.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { packOf } from '../../simulator/wire.ts';
import { START_MS } from '../support/drive.ts';
import { headKitOf, LayoutBuilder } from '../support/layout-builder.ts';

/** One impact head 20 m before the line's end, and one rotator. */
const layout: Layout = new LayoutBuilder()
  .tank('tank')
  .pump('pump', 'tank', 'p0')
  .chain(['p0', 'p1', 'p2'], { lengthM: 20, line: 'line-a' })
  .head('beater', 'p1')
  .head('quiet', 'p2', { kit: headKitOf('rotator-large') })
  .sensor(
    'pulse',
    'pulse',
    { kind: 'place', place: 'p2' },
    { line: 'line-a', device: 'end-a', record: 'pulse', intervalS: 10, noiseSd: 200, max: 1.6e6 },
  )
  .build();

function begin(beat: number, throttle = 0.7): Simulation {
  const simulation = new Simulation(layout, {
    seed: 12,
    startMs: START_MS,
    scenario: { name: 'test', begins: 'running', throttle, beat, timeline: [] },
  });
  for (let second = 0; second < 40; second += 1) simulation.second();
  return simulation;
}

function bursts(simulation: Simulation, count: number): Sample[][] {
  const out: Sample[][] = [];
  while (out.length < count) {
    const own = simulation.second().filter(({ sensor }) => sensor.id === 'pulse');
    if (own.length > 0) out.push(own);
  }
  return out;
}

/** Mean amplitude over bursts at each frequency of a grid, by the definition of the Fourier sum. */
function spectrum(list: readonly Sample[][]): { readonly hz: number; readonly pa: number }[] {
  return Array.from({ length: 60 }, (_, index) => {
    const hz = 0.6 + 0.1 * index;
    const amplitudes = list.map((burst) => {
      const mean = burst.reduce((sum, { value }) => sum + value, 0) / burst.length;
      const part = (wave: (angle: number) => number): number =>
        burst.reduce((sum, { value }, at) => sum + (value - mean) * wave((2 * Math.PI * hz * at) / BURST_HZ), 0);
      return (2 / burst.length) * Math.hypot(part(Math.cos), part(Math.sin));
    });
    return { hz, pa: amplitudes.reduce((sum, amplitude) => sum + amplitude, 0) / list.length };
  });
}

function peak(list: readonly Sample[][]): { readonly hz: number; readonly pa: number } {
  return spectrum(list).reduce((best, one) => (one.pa > best.pa ? one : best));
}

describe('a burst', () => {
  it('is 128 samples at 32 Hz in rising time, that the gateway reads from one pack', () => {
    const [burst] = bursts(begin(0.01), 1);
    expect(burst).toHaveLength(BURST_SAMPLES);
    const steps = burst!.slice(1).map(({ timeMs }, index) => timeMs - burst![index]!.timeMs);
    expect(Math.min(...steps)).toBeGreaterThanOrEqual(31);
    expect(Math.max(...steps)).toBeLessThanOrEqual(32);
    const read = readSenml(new TextEncoder().encode(packOf('test-site', 'end-a', burst!)));
    expect(read.refused).toEqual([]);
    expect(read.records.map(({ time }) => time.kind === 'absolute' && time.atMs)).toEqual(
      burst!.map(({ timeMs }) => timeMs),
    );
  });

  it("has the head's own rate as its peak, as strong as told and as far as it is", () => {
    const simulation = begin(0.01);
    const { hz, pa } = peak(bursts(simulation, 12));
    expect(Math.abs(hz - simulation.beats.rateHz(0))).toBeLessThan(0.21);
    const own = 0.01 * simulation.plant.pressurePa[1]! * Math.exp(-20 / 25);
    // Jitter and a grid of 0.1 Hz cost some of the height.
    expect(pa).toBeGreaterThan(0.5 * own);
    expect(pa).toBeLessThan(1.3 * own);
  });

  it('loses the peak when the head stalls, comes off or is plugged, with no beat of the rotator', () => {
    const before = peak(bursts(begin(0.01), 8)).pa;
    for (const what of ['head-stalled', 'head-off', 'plug']) {
      const simulation = begin(0.01);
      expect(simulation.carry({ do: 'start', what, at: 'beater' })).toBeNull();
      for (let second = 0; second < 10; second += 1) simulation.second();
      expect(peak(bursts(simulation, 8)).pa, what).toBeLessThan(0.15 * before);
    }
  });

  it('is smeared by wind: the head turns less evenly, its peak is lower and its rate the same', () => {
    const [calm, windy] = [begin(0.01), begin(0.01)];
    expect(windy.carry({ do: 'start', what: 'wind', size: 30 })).toBeNull();
    const [still, blown] = [peak(bursts(calm, 16)), peak(bursts(windy, 16))];
    expect(blown.pa).toBeLessThan(0.9 * still.pa);
    expect(Math.abs(blown.hz - still.hz)).toBeLessThan(0.25);
    expect(windy.beats.rateHz(0)).toBe(calm.beats.rateHz(0));
  });

  it('has nothing in it unless the scenario says so', () => {
    expect(peak(bursts(begin(0), 8)).pa).toBeLessThan(80);
  });

  it('beats faster with the root of the pressure, and not at all far below what turns it', () => {
    const [low, high] = [begin(0.01, 0.55), begin(0.01, 0.75)];
    const head = layout.heads[0]!;
    const nozzle = (simulation: Simulation): number => simulation.plant.pressurePa[1]! - 9_800 * head.elevationM;
    expect(high.beats.rateHz(0) / low.beats.rateHz(0)).toBeCloseTo(Math.sqrt(nozzle(high) / nozzle(low)), 2);
    expect(begin(0.01, 0.2).beats.rateHz(0)).toBe(0);
  });
});
