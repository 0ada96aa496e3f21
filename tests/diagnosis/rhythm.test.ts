/**
 * The beat of heads in bursts of fast samples. Power of white noise over its own variance passes z with probability
 * exp(-z) (Scargle, Astrophysical Journal 263 (1982) 835, from memory); the tones are made here, with known rates.
 */
import { describe, expect, it } from 'vitest';
import { LineRhythm, powers } from '../../gateway/core/diagnosis/bursts/rhythm.ts';
import { SeededRandom } from '../../simulator/seeded-random.ts';
import { Drive, siteLayout } from '../support/drive.ts';

const NOISE_PA = 300;
const SAMPLES = 128;
const STEP_MS = 1_000 / 32;

interface Tone {
  readonly hz: number;
  readonly pa: number;
}

function burst(
  dice: SeededRandom,
  endMs: number,
  tones: readonly Tone[],
  meanPa = 400_000,
): { atMs: number; value: number }[] {
  const phases = tones.map(() => 2 * Math.PI * dice.uniform());
  return Array.from({ length: SAMPLES }, (_, i) => {
    const atMs = endMs - Math.round((SAMPLES - 1 - i) * STEP_MS);
    const beat = tones.reduce(
      (sum, { hz, pa }, n) => sum + pa * Math.cos(2 * Math.PI * hz * (atMs / 1_000) + phases[n]!),
      0,
    );
    return { atMs, value: meanPa + beat + NOISE_PA * dice.normal() };
  });
}

class Line {
  readonly rhythm: LineRhythm;
  readonly #dice: SeededRandom;
  nowMs = 0;

  constructor(seed: number, heads = 2) {
    this.rhythm = new LineRhythm(NOISE_PA, heads);
    this.#dice = SeededRandom.named(seed, 'line');
  }

  bursts(count: number, tones: readonly Tone[], meanPa = 400_000): void {
    for (let n = 0; n < count; n += 1) {
      this.nowMs += 30_000;
      this.rhythm.hear(burst(this.#dice, this.nowMs, tones, meanPa), meanPa);
    }
  }
}

const TWO: readonly Tone[] = [
  { hz: 1.5, pa: 2_000 },
  { hz: 2.6, pa: 1_500 },
];

describe('power of a burst', () => {
  it('passes z in exp(-z) of cases where there is only noise', () => {
    const dice = SeededRandom.named(9_900, 'noise');
    const found: number[] = [];
    for (let n = 0; n < 3_000; n += 1) found.push(powers(burst(dice, 10_000, []), Float64Array.of(2.25), NOISE_PA)[0]!);
    for (const z of [1, 3, 5]) {
      const expected = 3_000 * Math.exp(-z);
      expect(Math.abs(found.filter((power) => power > z).length - expected)).toBeLessThan(4 * Math.sqrt(expected));
    }
  });

  it('of a tone is a quarter of its squared amplitude times the window, over the noise: highest at its rate', () => {
    const rates = Float64Array.from({ length: 40 }, (_, i) => 0.5 + 0.125 * i);
    const power = powers(burst(SeededRandom.named(9_901, 'tone'), 10_000, [{ hz: 2.5, pa: 3_000 }]), rates, NOISE_PA);
    expect(rates[power.indexOf(Math.max(...power))]).toBeCloseTo(2.5, 9);
    // Sine window: (sum w)^2 / sum w^2 = (2N/pi)^2 / (N/2).
    const gain = ((2 * SAMPLES) / Math.PI) ** 2 / (SAMPLES / 2);
    expect(Math.abs(Math.max(...power) / ((0.25 * 3_000 ** 2 * gain) / NOISE_PA ** 2) - 1)).toBeLessThan(0.1);
  });
});

describe('rhythm of a line', () => {
  it('is not claimed where the baseline shows none, nor from two bursts', () => {
    const silent = new Line(9_910);
    silent.bursts(6, []);
    silent.rhythm.learn(silent.nowMs);
    expect(silent.rhythm.known).toBe(0);
    silent.bursts(20, []);
    expect(silent.rhythm.lost).toBeNull();
    const short = new Line(9_911);
    short.bursts(2, TWO);
    short.rhythm.learn(short.nowMs);
    expect(short.rhythm.known).toBe(0);
  });

  it('has no more beats than the line has heads that beat: what is over is an overtone', () => {
    const strong: readonly Tone[] = [
      { hz: 1.5, pa: 2_000 },
      { hz: 3, pa: 1_500 },
    ];
    for (const heads of [1, 2]) {
      const line = new Line(9_917, heads);
      line.bursts(5, strong);
      line.rhythm.learn(line.nowMs);
      expect(line.rhythm.ratesHz).toEqual([1.5, 3].slice(0, heads));
    }
    // An overtone may be stronger than another head's own beat.
    const three = new Line(9_918);
    three.bursts(5, [
      { hz: 1.5, pa: 2_000 },
      { hz: 3, pa: 1_500 },
      { hz: 2.25, pa: 1_000 },
    ]);
    three.rhythm.learn(three.nowMs);
    expect(three.rhythm.ratesHz).toEqual([1.5, 2.25]);
  });

  it('misses a beat that stops, within four bursts, and takes it back when it returns', () => {
    const line = new Line(9_912);
    line.bursts(5, TWO);
    line.rhythm.learn(line.nowMs);
    expect(line.rhythm.known).toBe(2);
    line.bursts(10, TWO);
    expect(line.rhythm.lost).toBeNull();
    const lastMs = line.nowMs;
    line.bursts(4, TWO.slice(0, 1));
    expect(line.rhythm.lost).toEqual({ beats: 1, of: 2, sinceMs: lastMs });
    line.bursts(1, TWO);
    expect(line.rhythm.lost).toBeNull();
  });

  it('is not missed where it has become a little faster or slower than at the baseline', () => {
    for (const hz of [1.5 - 0.2, 1.5 + 0.2]) {
      const line = new Line(9_919);
      line.bursts(5, TWO);
      line.rhythm.learn(line.nowMs);
      line.bursts(6, [{ hz, pa: 850 }, TWO[1]!]);
      expect(line.rhythm.lost, `${hz} Hz`).toBeNull();
    }
  });

  it('follows rates that go with the root of the pressure, and holds its tongue far from the pressure it learned at', () => {
    const line = new Line(9_913);
    line.bursts(5, TWO);
    line.rhythm.learn(line.nowMs);
    const softer = TWO.map(({ hz, pa }) => ({ hz: hz * Math.sqrt(0.88), pa }));
    line.bursts(8, softer, 0.88 * 400_000);
    expect(line.rhythm.lost).toBeNull();
    line.bursts(8, [], 0.6 * 400_000);
    expect(line.rhythm.lost).toBeNull();
  });

  it('takes no weak peak beside a strong beat for a beat: it may be its skirt', () => {
    const line = new Line(9_914);
    line.bursts(5, [
      { hz: 1.5, pa: 12_000 },
      { hz: 2.1, pa: 1_500 },
    ]);
    line.rhythm.learn(line.nowMs);
    expect(line.rhythm.known).toBe(1);
  });
});

it('a motion sensor on the line carries the beat as well: a stalled head is missed by it, on the lay of Quarry Road', () => {
  const drive = new Drive(siteLayout('quarry-road'), { seed: 9_915, scenario: 'evening' });
  drive.run(700);
  expect(drive.baseline()).toBeNull();
  drive.run(10);
  expect(drive.picture.blind.find((words) => words.includes('except where the baseline showed'))).toContain(
    'line N barn',
  );
  drive.run(600);
  expect(drive.standing.filter((one) => one.startsWith('head-stalled'))).toEqual([]);
  drive.carry({ do: 'start', what: 'head-stalled', at: 'n-4' });
  expect(drive.until(420, () => drive.standing.includes('head-stalled line-n'))).not.toBeNull();
});
