/** Suction lift, air pressure at altitude and NPSH against published figures. */
import { describe, expect, it } from 'vitest';
import {
  airPressurePa,
  judgeSuction,
  npshAvailableM,
  vapourPressurePa,
} from '../../gateway/core/hydraulics/cavitation.ts';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { preflight } from '../../gateway/core/hydraulics/preflight.ts';
import { NO_CHANGE, WhatIf } from '../../gateway/core/hydraulics/what-if.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';
import { FT, off, PSI } from './us-units.ts';

describe('air pressure (ICAO standard atmosphere)', () => {
  it.each([
    [0, 101_325],
    [1000, 89_876],
    [2000, 79_501],
    [3000, 70_121],
  ])('%d m: %d Pa', (altitudeM, printed) => {
    expect(off(airPressurePa(altitudeM), printed)).toBeLessThan(5e-4);
  });
});

describe('vapour pressure of water (handbook table)', () => {
  it.each([
    [0, 611],
    [5, 873],
    [10, 1228],
    [15, 1706],
    [20, 2339],
    [25, 3170],
    [30, 4247],
  ])('%d degC: %d Pa', (temperatureC, printed) => {
    expect(off(vapourPressurePa(temperatureC), printed)).toBeLessThan(0.01);
  });
});

describe('lift', () => {
  // Air pressure as a column, NWCG course FFM and engineering tables: 33.9 ft at sea level, 10.33 m; 7.15 m at 3,000 m.
  it.each([
    [0, 10.33],
    [1000, 9.17],
    [2000, 8.11],
    [3000, 7.15],
  ])('air carries a column of %d m altitude: %d m', (altitudeM, printed) => {
    expect(off(airPressurePa(altitudeM) / PA_PER_M, printed)).toBeLessThan(0.003);
  });

  // The same column, 10.33 - 7.15 m, in what Pre-flight and What if leave a pump (NWCG course FFM).
  it('a lay carried up to 3,000 m has 3.18 m less to lift with, and a pump that had enough may lack it', () => {
    const at = (altitudeM: number) =>
      new LayoutBuilder()
        .openWater('lake')
        .place('p0', 2)
        .pump('pump', 'lake', 'p0', { elevationM: 2 })
        .chain(['p0', 'p1'])
        .head('a', 'p1')
        .build({ altitudeM });
    const [low, high] = [preflight(at(0)).pumps[0]!, preflight(at(3000)).pumps[0]!];
    expect(off(low.npshAvailableM - high.npshAvailableM, 10.33 - 7.15)).toBeLessThan(0.01);
    for (const altitudeM of [0, 3000, 5000])
      expect(new WhatIf(at(altitudeM)).answer(NO_CHANGE).pumps[0]!.suction).toBe(
        preflight(at(altitudeM)).pumps[0]!.suction,
      );
    expect([low.suction, preflight(at(5000)).pumps[0]!.suction]).toEqual(['ample', 'cavitates']);
  });

  it('no pump lifts more than 33.9 ft, less the vapour pressure', () => {
    expect(npshAvailableM(0, 0, 20) / FT).toBeLessThan(33.9);
    expect(npshAvailableM(0, 0, 20) / FT).toBeGreaterThan(33);
  });

  it('closed tank at 5 psi, 25 ft of lift, 6 ft of loss, 60 degF: 13.9 ft, too little for 20 ft required (Flow of Fluids, TP-410, example 7.32)', () => {
    const suctionPa = 5 * PSI - (25 + 6) * FT * PA_PER_M;
    const availableM = npshAvailableM(suctionPa, 0, (60 - 32) / 1.8);
    expect(off(availableM / FT, 13.9)).toBeLessThan(0.01);
    expect(judgeSuction(availableM, 20 * FT)).toBe('cavitates');
    expect(judgeSuction(availableM, 12 * FT)).toBe('near');
    expect(judgeSuction(availableM, 8 * FT)).toBe('ample');
  });
});
