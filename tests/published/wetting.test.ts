/** Application rate and uniformity against published figures; contents of hoses. */
import { describe, expect, it } from 'vitest';
import { fillTimeS, hoseVolumeM3, layVolume } from '../../gateway/core/hydraulics/lay-volume.ts';
import {
  applicationRateMps,
  timeToDepthS,
  uniformityPercent,
  wettedAreaM2,
} from '../../gateway/core/hydraulics/wetting.ts';
import { hoseKitOf, LayoutBuilder } from '../support/layout-builder.ts';
import { FT, INCH, LITRE_A_MINUTE, off, USGPM } from './us-units.ts';

const INCH_AN_HOUR = INCH / 3600;
const MM_AN_HOUR = 1e-3 / 3600;

describe('application rate', () => {
  // Irrigation teaching text: rate in/h = 96.3 gpm / ft2.
  it.each([
    [8, 900, 0.86],
    [18, 2000, 0.8667],
    [10, 500, 1.93],
  ])('%d US gpm on %d ft2: %d in/h', (gpm, ft2, printed) => {
    expect(off(applicationRateMps(gpm * USGPM, ft2 * FT * FT) / INCH_AN_HOUR, printed)).toBeLessThan(0.006);
  });

  it('48 L/min over a circle of 15 m radius: 4.074 mm/h, so 5 mm take 74 minutes', () => {
    const rate = applicationRateMps(48 * LITRE_A_MINUTE, wettedAreaM2(15, 360));
    expect(off(rate / MM_AN_HOUR, 4.074)).toBeLessThan(2e-4);
    expect(timeToDepthS(0.005, rate)! / 60).toBeCloseTo(73.6, 1);
    expect(timeToDepthS(0.005, 0)).toBeNull();
  });

  it('half the arc is half the area', () => {
    expect(wettedAreaM2(10, 180)).toBeCloseTo(wettedAreaM2(10, 360) / 2, 9);
  });
});

// Catch-can sets of irrigation teaching pages.
describe('uniformity', () => {
  const cans = [12.0, 11.5, 10.8, 9.2, 12.3, 11.9, 10.1, 8.7, 12.1, 11.7, 10.5, 9.0, 12.2, 11.6, 10.3, 8.5];
  it('16 cans: Christiansen 89.41 %', () => {
    expect(uniformityPercent(cans)).toBeCloseTo(89.414, 2);
  });

  it.each([
    ['A', [13.2, 12.9, 13.4, 11.7, 12.1, 13.0, 12.6, 14.0, 11.9, 12.8, 13.1, 12.0], 95.645],
    ['B', [10.0, 9.4, 9.8, 6.5, 7.1, 9.2, 8.9, 11.0, 6.9, 8.6, 9.5, 7.0], 86.157],
    ['C', [8.0, 8.1, 7.9, 8.2, 8.0, 8.1, 8.0, 8.2], 98.915],
  ])('block %s', (_, depths, christiansen) => {
    expect(uniformityPercent(depths)).toBeCloseTo(christiansen, 2);
  });
});

// NWCG course FFM, 3.2: contents of hose, US gallons for 100 ft (50 ft of 3/4 in).
describe('contents of hose', () => {
  it.each([
    [1.5, 100, 9.2],
    [1, 100, 4.1],
    [0.75, 50, 1.15],
  ])('%d in, %d ft: %d gal', (boreIn, lengthFt, printed) => {
    expect(off(hoseVolumeM3(boreIn * INCH, lengthFt * FT) / (231 * INCH ** 3), printed)).toBeLessThan(0.006);
  });

  it('counts feeders with their line, and hoses of no line as trunk: 100 ft of 1 1/2 in, and 50 ft of 3/4 in', () => {
    const bore = (id: string, inches: number) => ({ ...hoseKitOf(id), boreM: inches * INCH });
    const layout = new LayoutBuilder()
      .tank('tank')
      .pump('pump', 'tank', 'p0')
      .hose('trunk', 'p0', 'p1', { kit: bore('lined-38', 1.5), lengthM: 100 * FT })
      .head('h', 'p1', { feeder: bore('feeder-19', 0.75), feederLengthM: 50 * FT })
      .build();
    const { wholeM3, trunkM3, lineM3 } = layVolume(layout);
    const gallons = (volumeM3: number) => volumeM3 / (231 * INCH ** 3);
    expect(off(gallons(trunkM3), 9.2)).toBeLessThan(0.006);
    expect(off(gallons(lineM3.get('line-a')!), 1.15)).toBeLessThan(0.006);
    expect(wholeM3).toBe(trunkM3 + lineM3.get('line-a')!);
  });

  it('six lengths of 1 1/2 in hold 55 gal and fill in a minute at 55 US gpm', () => {
    const volume = hoseVolumeM3(1.5 * INCH, 600 * FT);
    expect(off(volume / (231 * INCH ** 3), 55)).toBeLessThan(0.003);
    expect(fillTimeS(volume, 55 * USGPM)).toBeCloseTo(60, 0);
    expect(fillTimeS(volume, 0)).toBeNull();
  });
});
