/** How long water and fuel last. */
import { describe, expect, it } from 'vitest';
import type { Source } from '../../config/layout/layout.ts';
import { DrawnVolume } from '../../gateway/core/diagnosis/supply/drawn-volume.ts';
import { supplyPicture } from '../../gateway/core/diagnosis/supply/supply.ts';
import { Drive, siteLayout } from '../support/drive.ts';

const US_GALLON = 0.003785411784;

/** A framed tank of 1,500 US gal when full. */
const depthM = 0.75;
const areaM2 = (1_500 * US_GALLON) / depthM;
const tank: Source = {
  id: 'tank',
  label: 'Tank',
  xM: 0,
  yM: 0,
  elevationM: 0,
  usable: 0.9,
  refillS: 600,
  mains: null,
  shape: { kind: 'framed-tank', lengthM: areaM2, widthM: 1, depthM },
};
const drawn = (55 * US_GALLON) / 60;

describe('time to empty', () => {
  // 1500 gal, 90 % usable, 55 gal/min: 24.5 min (arithmetic on the usual 90 % rule for portable tanks).
  it('takes measured flow while the level trend is young', () => {
    const picture = supplyPicture(tank, {
      atMs: 0,
      levelM: depthM,
      levels: [],
      levelSdM: 0.003,
      drawnM3s: drawn,
      drawn: null,
      firstShort: null,
    });
    expect(picture.emptyInS!.best / 60).toBeCloseTo(24.5, 1);
    expect(picture.emptyInS!.low).toBeLessThan(picture.emptyInS!.best);
    expect(picture.emptyInS!.high).toBeGreaterThan(picture.emptyInS!.best);
  });

  it('then takes the trend of the level itself', () => {
    const levels = Array.from({ length: 200 }, (_, second) => ({
      atMs: second * 1_000,
      value: depthM - (drawn * second) / areaM2 + 0.002 * Math.sin(second * 1.7),
    }));
    const picture = supplyPicture(tank, {
      atMs: 199_000,
      levelM: levels.at(-1)!.value,
      levels,
      levelSdM: 0.003,
      drawnM3s: null,
      drawn: null,
      firstShort: null,
    });
    expect(picture.trendM3s! / drawn).toBeCloseTo(-1, 1);
    expect(picture.emptyInS!.best / 60).toBeGreaterThan(19);
    expect(picture.emptyInS!.best / 60).toBeLessThan(23);
  });

  it('knows the trend no better than the gauge, though its readings happen to lie on a line', () => {
    const range = (levelSdM: number): number => {
      const levels = Array.from({ length: 70 }, (_, second) => ({
        atMs: second * 1_000,
        value: depthM - (drawn * second) / areaM2,
      }));
      const { low, high } = supplyPicture(tank, {
        atMs: 69_000,
        levelM: levels.at(-1)!.value,
        levels,
        levelSdM,
        drawnM3s: null,
        drawn: null,
        firstShort: null,
      }).emptyInS!;
      return high - low;
    };
    expect(range(0.01)).toBeGreaterThan(1.2 * range(0.0001));
  });

  it('says filling, and no time to empty, while a tender fills', () => {
    const levels = Array.from({ length: 200 }, (_, second) => ({ atMs: second * 1_000, value: 0.3 + 0.001 * second }));
    const picture = supplyPicture(tank, {
      atMs: 199_000,
      levelM: 0.5,
      levels,
      levelSdM: 0.003,
      drawnM3s: drawn,
      drawn: null,
      firstShort: null,
    });
    expect(picture).toMatchObject({ filling: true, emptyInS: null });
  });

  it('knows nothing without a level', () => {
    const picture = supplyPicture(tank, {
      atMs: 0,
      levelM: null,
      levels: [],
      levelSdM: 0.003,
      drawnM3s: drawn,
      drawn: null,
      firstShort: null,
    });
    expect(picture).toMatchObject({ volumeM3: null, usableM3: null, emptyInS: null });
  });

  it('is not longer because the pump stood still a minute ago, and ends with the pump', () => {
    const pump = new DrawnVolume();
    const levels: { atMs: number; value: number }[] = [];
    let volume = 0.6 * depthM * areaM2;
    const at = (second: number): ReturnType<typeof supplyPicture> => {
      const flow = second < 240 || second >= 360 ? drawn : 0;
      volume -= flow;
      levels.push({ atMs: 1_000 * second, value: volume / areaM2 + 0.002 * Math.sin(second * 1.7) });
      pump.second(1_000 * second, flow);
      return supplyPicture(tank, {
        atMs: 1_000 * second,
        levelM: volume / areaM2,
        levels,
        levelSdM: 0.003,
        drawnM3s: flow,
        drawn: pump,
        firstShort: null,
      });
    };
    const pictures = Array.from({ length: 460 }, (_, second) => at(second));
    // Arithmetic: what is within reach over what is drawn.
    const trueS = (second: number): number => pictures[second]!.usableM3! / drawn;
    expect(pictures[235]!.emptyInS!.best / trueS(235)).toBeCloseTo(1, 1);
    for (const second of [260, 300, 350]) expect(pictures[second]!.emptyInS, `${second} s, stopped`).toBeNull();
    for (const second of [375, 400, 430, 459]) {
      const { best, low, high } = pictures[second]!.emptyInS!;
      expect(best / trueS(second), `${second} s`).toBeCloseTo(1, 1);
      expect(low).toBeLessThanOrEqual(trueS(second));
      expect(high).toBeGreaterThanOrEqual(trueS(second));
    }
  });

  it('goes by the level alone where nobody knows what was drawn', () => {
    const pump = new DrawnVolume();
    for (let second = 0; second < 100; second += 1) pump.second(1_000 * second, second === 50 ? null : drawn);
    expect(pump.until(40_000)).toBeNull();
    expect(pump.until(60_000)).toBeCloseTo(9 * drawn, 9);
    expect(pump.latelyM3s).toBeCloseTo(drawn, 9);
    pump.second(110_000, drawn);
    expect(pump.latelyM3s, 'after a gap').toBeNull();
  });
});

// Affinity of power (Hydraulic Institute): an engine's use goes with the cube of its speed. The kit states 5 L/h.
it.each([1, 0.8])('fuel lasts what is left over what the speed takes, at %d of rated speed', (throttle) => {
  const layout = siteLayout('larch-cove');
  const drive = new Drive(layout, { seed: 9_741 });
  drive.carry({ do: 'start', what: 'throttle', at: 'pump', size: throttle });
  drive.run(60);
  const { fuelLeftS, fuelM3, rotationHz } = drive.picture.pumps[0]!;
  const { kit } = layout.pumps[0]!;
  const speed = rotationHz! / kit.ratedRotationHz;
  expect(speed).toBeCloseTo(throttle, 1);
  expect(kit.fuelUseM3s * 3_600_000).toBeCloseTo(5, 9);
  expect(fuelLeftS!.best / ((fuelM3! * 3_600_000) / (5 * speed ** 3))).toBeCloseTo(1, 9);
  expect(fuelLeftS!.low).toBeLessThan(fuelLeftS!.best);
  expect(fuelLeftS!.high).toBeGreaterThan(fuelLeftS!.best);
});
