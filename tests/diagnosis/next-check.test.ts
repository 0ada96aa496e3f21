/**
 * Which question tells most: the information bound against numbers that can be worked out, and the core's questions.
 *
 * Two unit normals, `gap` apart, with equal odds: the exact information is the entropy of their mixture less that of
 * one, found here by numerical integration (trapezoid, 1e-3 steps): a general definition, Cover & Thomas, Elements of
 * Information Theory, chapter 8. The bound may fall short of it, never pass it (Kolchinsky & Tracey 2017).
 */
import { describe, expect, it } from 'vitest';
import { informationBits } from '../../gateway/core/diagnosis/isolation/next-check.ts';
import { Drive, siteLayout } from '../support/drive.ts';

function exactBits(gap: number): number {
  const density = (x: number): number => Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);
  let mixture = 0;
  for (let x = -12; x < 12 + gap; x += 1e-3) {
    const p = 0.5 * density(x) + 0.5 * density(x - gap);
    if (p > 0) mixture -= 1e-3 * p * Math.log2(p);
  }
  return mixture - 0.5 * Math.log2(2 * Math.PI * Math.E);
}

describe('information of a question', () => {
  it.each([0, 0.5, 1, 2, 3, 5, 9])('two rivals %d standard deviations apart', (gap) => {
    const bits = informationBits([0.5, 0.5], [Float64Array.of(0), Float64Array.of(gap)], Float64Array.of(1));
    const exact = exactBits(gap);
    expect(bits).toBeLessThanOrEqual(exact + 1e-4);
    expect(bits).toBeGreaterThan(exact - 0.2);
  });

  it('is nothing for readings that all rivals agree on, and all that is open for readings far apart', () => {
    const same = [Float64Array.of(3, 4), Float64Array.of(3, 4), Float64Array.of(3, 4)];
    expect(informationBits([0.5, 0.3, 0.2], same, Float64Array.of(1, 1))).toBeCloseTo(0, 12);
    const apart = [Float64Array.of(0, 0), Float64Array.of(90, 0), Float64Array.of(0, 90)];
    const entropy = -(0.5 * Math.log2(0.5) + 0.3 * Math.log2(0.3) + 0.2 * Math.log2(0.2));
    expect(informationBits([0.5, 0.3, 0.2], apart, Float64Array.of(1, 1))).toBeCloseTo(entropy, 9);
  });
});

describe('what is asked', () => {
  const layout = siteLayout('larch-cove');

  it('of a leak on a line: something about that line, put as a question to people', () => {
    const drive = new Drive(layout, { seed: 9_811 });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    drive.run(10);
    drive.carry({ do: 'start', what: 'leak', at: 'c-hose-2', size: 0.05 });
    drive.run(40);
    const { verdict } = drive.picture.alarms[0]!;
    expect(verdict.subject).toBe('line-c');
    expect(verdict.ask).toMatch(/Should separate (nearly all|most|some) of the explanations\./);
  });

  it('of what is clear: nothing', () => {
    const drive = new Drive(layout, { seed: 9_812 });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    drive.carry({ do: 'start', what: 'pump-stop' });
    drive.run(30);
    expect(drive.picture.alarms[0]!.verdict).toMatchObject({ cause: 'pump-stop', ask: null });
  });
});

describe('what is answered', () => {
  const layout = siteLayout('larch-cove');
  const leaking = (seed: number): Drive => {
    const drive = new Drive(layout, { seed });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    drive.run(10);
    drive.carry({ do: 'start', what: 'plug', at: 'e-4' });
    drive.run(40);
    return drive;
  };
  const shareOf = (drive: Drive, place: string): number =>
    drive.picture.alarms[0]!.verdict.places.find(({ id }) => id === place)?.probability ?? 0;

  it('a head seen sound loses its share to its neighbours; a head seen plugged takes it', () => {
    const drive = leaking(9_821);
    const [first, second] = drive.picture.alarms[0]!.verdict.places.map(({ id }) => id) as [string, string];
    const before = shareOf(drive, second);
    expect(
      drive.watch.enter({ kind: 'looked', by: 'AB', at: first, found: 'nothing-wrong' }, drive.simulation.nowMs + 950),
    ).toBeNull();
    drive.run(8);
    expect(shareOf(drive, first)).toBeLessThan(0.35);
    expect(shareOf(drive, second)).toBeGreaterThan(before);
    drive.watch.enter({ kind: 'looked', by: 'AB', at: second, found: 'plug' }, drive.simulation.nowMs + 950);
    drive.run(8);
    expect(shareOf(drive, second)).toBeGreaterThan(0.95);
  });

  it('one look never overrules the gauges: a trouble that they show is not looked away', () => {
    const drive = leaking(9_822);
    for (const { id } of drive.picture.alarms[0]!.verdict.places) {
      drive.watch.enter({ kind: 'looked', by: 'AB', at: id, found: 'nothing-wrong' }, drive.simulation.nowMs + 950);
    }
    drive.run(20);
    expect(drive.standing.length).toBeGreaterThan(0);
  });

  it('is refused for a place that is not there', () => {
    const drive = leaking(9_823);
    expect(
      drive.watch.enter({ kind: 'looked', by: 'AB', at: 'e-99', found: 'plug' }, drive.simulation.nowMs + 950),
    ).toMatch(/no head, hose or gate 'e-99'/);
  });
});
