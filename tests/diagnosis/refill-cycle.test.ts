/** The swing of a tank that is refilled again and again: what is usual, since when it is known, and how long. */
import { describe, expect, it } from 'vitest';
import { RefillCycle } from '../../gateway/core/diagnosis/supply/refill-cycle.ts';
import { SupplyWatch } from '../../gateway/core/diagnosis/supply/supply-watch.ts';
import { depthAtVolume, sourceDepthM, volumeAtDepth } from '../../gateway/core/hydraulics/source.ts';
import { channelsOf } from '../../gateway/core/telemetry/channel.ts';
import { siteLayout } from '../support/drive.ts';

const HOUR_MS = 3_600_000;

/** Runs down from 10 to 4 m3 and is refilled in so many seconds, so often, an hour from one refill's end to the next. */
function refilled(times: number, fillS = 600): RefillCycle {
  const cycle = new RefillCycle();
  for (let time = 1; time <= times; time += 1) {
    const endMs = time * HOUR_MS;
    cycle.observe(endMs - 1_000 * fillS - 1_000, 4, false);
    cycle.observe(endMs - 1_000 * fillS, 4, true);
    cycle.observe(endMs, 10, false);
  }
  return cycle;
}

describe('the swing of a tank', () => {
  it('is known after two refills: as low as before them is usual, and no lower by more than a margin', () => {
    expect(refilled(1).holds(4)).toBe(false);
    const cycle = refilled(2);
    expect([cycle.holds(4), cycle.holds(3)]).toEqual([true, false]);
    expect([cycle.isUp(9), cycle.isUp(7)]).toEqual([true, false]);
  });

  it('is not made by a rise that ends within a minute: that is a wave, or a hose that was tried', () => {
    expect(refilled(2, 59).holds(4)).toBe(false);
    expect(refilled(2, 60).holds(4)).toBe(true);
  });

  it('is forgotten half a day after the refills that made it', () => {
    const known = (afterH: number): boolean => {
      const cycle = refilled(3);
      cycle.observe((2 + afterH) * HOUR_MS, 4, false);
      return cycle.holds(4);
    };
    expect(known(11.9)).toBe(true);
    expect(known(12)).toBe(false);
  });
});

it('a tank that runs down every time as far as before is news once less than a third of what a refill takes is left', () => {
  const layout = siteLayout('larch-cove');
  const source = layout.sources[0]!;
  const { shape, refillS, usable } = source;
  const sensor = layout.sensors.find(({ quantity }) => quantity === 'level')!;
  const channels = channelsOf(layout);
  const watch = new SupplyWatch(layout, source, channels);
  const fullM3 = volumeAtDepth(shape, sourceDepthM(shape))!;
  const DRAWN_M3S = 0.004;
  let [second, usableM3] = [0, 0.8 * usable * fullM3];
  const leftS = (): number => usableM3 / DRAWN_M3S;
  const low = (): boolean => watch.findings.some(({ cause }) => cause === 'tank-low');
  const step = (gainM3s: number): void => {
    second += 1;
    usableM3 += gainM3s;
    const atMs = 1_000 * second;
    const value = depthAtVolume(shape, usableM3 + (1 - usable) * fullM3)!;
    channels.get(sensor.id)!.take({ channel: sensor.id, value, atMs, receivedMs: atMs, deviceMs: atMs, grade: 'good' });
    watch.observe(atMs, DRAWN_M3S, null);
  };
  const until = (holds: () => boolean, gainM3s: number): void => {
    while (!holds() && second < 50_000) step(gainM3s);
  };
  for (let time = 0; time < 3; time += 1) {
    until(() => leftS() < 0.2 * refillS, -DRAWN_M3S);
    until(() => usableM3 > 0.8 * usable * fullM3, 0.01);
  }
  for (let count = 0; count < 300; count += 1) step(-DRAWN_M3S);
  expect(low(), 'as it always did').toBe(false);
  until(low, -DRAWN_M3S);
  expect(leftS() / refillS).toBeLessThan(0.35);
  expect(leftS() / refillS).toBeGreaterThan(0.25);
});
